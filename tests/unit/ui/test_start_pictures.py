"""Every page and window of the start window at four sizes, light and dark and in German, beside the sheets that were looked at.

Two of the nine sheets are compared each time, all of them with ``ALL_PICTURES=1``; ``APPROVE=1`` makes all anew, to be looked
at again. With ``PUTTING_SHOTS=FOLDER`` each page is left there at its full size.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.approved_pictures import FOLDER, difference
from tests.support.practice_stage import shots_folder
from tests.support.start_pages import ACROSS, LOOKS, TILE_PX, pages, sheet

FAR_SHARE = 0.006  # of a page: a button of two words is 0.015, the day and the hour where they are told 0.002
QUALITY = 60
QUICK = [look for look in LOOKS if look[:2] == ("1024", "dark")]
CHOSEN = LOOKS if os.environ.get("APPROVE") or os.environ.get("ALL_PICTURES") else QUICK


@pytest.mark.parametrize(("size", "theme", "language"), CHOSEN)
def test_every_page_looks_as_approved(tmp_path: Path, size: str, theme: str, language: str) -> None:
    import cv2

    look = theme if language == "en" else "german"
    named = dict(pages(tmp_path, size, theme, language))
    path, made = FOLDER / "pages" / f"{size}-{look}.webp", sheet(list(named.values()))
    if (shots := shots_folder()) is not None:
        for name, picture in named.items():
            cv2.imwrite(str(shots / f"{size}-{look}-{name}.png"), picture)
    if os.environ.get("APPROVE"):
        cv2.imwrite(str(path), made, (cv2.IMWRITE_WEBP_QUALITY, QUALITY))
    kept = cv2.imread(str(path))
    assert kept is not None, f"{path} is not there: APPROVE=1 makes it"
    assert kept.shape == made.shape
    off = {name: tiles_differ(made, kept, n, len(named)) for n, name in enumerate(named)}
    assert not {name: f"{share:.2%}" for name, share in off.items() if share > FAR_SHARE}


def tiles_differ(made: Any, kept: Any, number: int, count: int) -> float:
    """Share of that page's pixels that are others."""
    return difference(tile(made, number, count), tile(kept, number, count))[0]


def tile(on: Any, number: int, count: int) -> Any:
    """The page of that number on a sheet of so many."""
    high = on.shape[0] // -(-count // ACROSS)
    row, column = divmod(number, ACROSS)
    return np.ascontiguousarray(on[row * high : (row + 1) * high, column * TILE_PX : (column + 1) * TILE_PX])
