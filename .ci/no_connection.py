"""Runs a command under strace and fails where it opens a socket that could leave the machine.

    python3 .ci/no_connection.py [--own-loopback] COMMAND...

Allowed is a socket between programs of this machine (AF_UNIX). With --own-loopback also a network socket, so long as every
address that is bound, connected or sent to is a loopback one.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

# As strace writes it: socket(AF_INET, SOCK_STREAM, ...) = 3, connect(3, {sin_addr=inet_addr("127.0.0.1")}, 16).
NETWORK = re.compile(r"\bsocket\((?!AF_UNIX|AF_LOCAL)(\w+)")
SENT_TO = re.compile(r"\b(bind|connect|sendto|sendmsg|sendmmsg)\(")
PLACE = re.compile(r'inet_addr\("([^"]+)"\)|inet_pton\(AF_INET6, "([^"]+)"')


def elsewhere(line: str) -> bool:
    """Whether a call turns to an address that is not this machine's own."""
    places = [v4 or v6 for v4, v6 in PLACE.findall(line)] if SENT_TO.search(line) else []
    return any(not (place.startswith("127.") or place == "::1") for place in places)


def suspicious(trace: list[str], own_loopback: bool) -> list[str]:
    opened = [] if own_loopback else [line for line in trace if NETWORK.search(line)]
    return opened + [line for line in trace if elsewhere(line)]


def main(arguments: list[str]) -> int:
    own_loopback = arguments[:1] == ["--own-loopback"]
    command = arguments[1:] if own_loopback else arguments
    with tempfile.TemporaryDirectory() as folder:
        trace = Path(folder) / "trace"
        strace = ["strace", "-f", "--seccomp-bpf", "-qq", "-e", "trace=%network", "-o", str(trace)]
        code = subprocess.run([*strace, *command], check=False).returncode
        lines = trace.read_text(encoding="utf-8", errors="replace").splitlines()
    found = suspicious(lines, own_loopback)
    print(f"{len(lines)} network calls of `{' '.join(command)}` traced, {len(found)} of them not local")
    print("".join(f"  {line}\n" for line in found[:20]), end="")
    return code or int(bool(found))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
