"""Whether it may listen is asked once, only where it could, and never taken for yes."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.app.context import load_context
from trainer.app.microphone import QUESTION, ask_about_microphone


@pytest.mark.parametrize("says", [True, False])
def test_it_is_asked_once_and_either_answer_is_kept(tmp_path: Path, says: bool) -> None:
    asked: list[str] = []

    def confirms(question: str) -> bool:
        asked.append(question)
        return says

    for _ in range(2):
        ask_about_microphone(load_context(tmp_path), confirms, lambda: True)
    assert asked == [QUESTION]
    assert "click of putter on ball" in QUESTION
    assert "no sound is kept" in QUESTION
    assert load_context(tmp_path).settings.hearing.microphone is says


def test_without_the_extra_or_with_an_answer_in_the_settings_nothing_is_asked(tmp_path: Path) -> None:
    def confirms(question: str) -> bool:
        raise AssertionError(question)

    ask_about_microphone(load_context(tmp_path), confirms, lambda: False)
    assert not (tmp_path / "settings.toml").exists()
    (tmp_path / "settings.toml").write_text("[hearing]\nmicrophone = false\n")
    ask_about_microphone(load_context(tmp_path), confirms, lambda: True)
