"""The command `putting-trainer`, also `python -m trainer`."""

from __future__ import annotations

import sys


def main() -> int:
    """Runs the command line; returns the exit code: 0 done, 2 the user can fix it, 1 our own fault."""
    from trainer.commands.cli import run

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
