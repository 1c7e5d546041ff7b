"""In which language the user is spoken to: the setting's, read alone and before anything else is loaded."""

from __future__ import annotations

from pathlib import Path

from trainer.app.data_folder import data_folder
from trainer.languages import AUTO, language_of
from trainer.settings.toml_text import parsed_or_empty
from trainer.store.folder import SETTINGS_FILE
from trainer.texts import speak


def speak_as_set(option: Path | None) -> None:
    """option: as --data-folder gives it. What is wrong with the file is said by whoever reads all of it."""
    path = data_folder(option) / SETTINGS_FILE
    words = parsed_or_empty(path).get("words") if path.is_file() else None
    chosen = words.get("language") if isinstance(words, dict) else None
    speak(language_of(chosen if isinstance(chosen, str) else AUTO))
