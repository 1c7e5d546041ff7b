"""Postures with all their lines as PNG files, drawn by the same code as the window. Needs no display."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.output import PICTURE, write_output
from trainer.posture.guidance import PostureState
from trainer.ui.export.files import SIZE, png
from trainer.ui.posture.compare_view import CompareState, CompareView
from trainer.ui.posture.posture_view import PostureView

TWO_SIZE = (1440, 960)  # px, of two postures beside each other


def write_posture(state: PostureState, path: Path) -> None:
    """As PNG, whatever the name says. Raises UsageError."""
    _write(PostureView(), state, SIZE, path)


def write_comparison(state: CompareState, path: Path) -> None:
    """Both side by side, likewise."""
    _write(CompareView(), state, TWO_SIZE, path)


def _write(view: Any, state: Any, size: tuple[int, int], path: Path) -> None:
    import pygame

    surface = pygame.Surface(size)
    view.draw(surface, state)
    write_output(path, png(surface, path), PICTURE)
