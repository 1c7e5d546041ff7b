"""The settings that people change in the start window: those of the machine, in settings.toml of the data folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Mapping

from trainer.app.context import RunContext
from trainer.errors import SettingsError
from trainer.store.folder import SETTINGS_FILE, write_atomically
from trainer.store.students import check_values, checked_text, edited
from trainer.texts import tr


def change_common(context: RunContext, changes: Mapping[str, Any]) -> Path:
    """Dotted key -> value, None takes the key out; comments and order stay. Raises SettingsError: the file is as it was."""
    path = context.base / SETTINGS_FILE
    try:
        text = path.read_text(encoding="utf-8-sig") if path.exists() else ""
    except OSError as error:
        raise SettingsError(
            tr("cannot be read ({strerror})", strerror=error.strerror), str(path), tr("check the path")
        ) from None
    check_values(changes)
    new = edited(text, changes)
    checked_text(path, new)
    write_atomically(path, new.encode("utf-8"))
    return path
