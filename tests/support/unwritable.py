"""Folders in which nothing may be written, for the superuser too."""

from __future__ import annotations

import ctypes
import os
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import Iterator

import pytest

_CAPABILITIES_3 = 0x20080522  # of Linux: capget(2)
_GOES_PAST_PERMISSIONS = 1 << 1 | 1 << 2  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH


class _Header(ctypes.Structure):
    _fields_ = (("version", ctypes.c_uint32), ("pid", ctypes.c_int))


class _Set(ctypes.Structure):
    _fields_ = (("effective", ctypes.c_uint32), ("permitted", ctypes.c_uint32), ("inheritable", ctypes.c_uint32))


@contextmanager
def nothing_may_be_written(folder: Path) -> Iterator[None]:
    """In it and in what is below; in this thread, where that is the superuser's."""
    folders = [folder, *(path for path in folder.rglob("*") if path.is_dir())]
    with _as_others_may():
        for one in folders:
            one.chmod(0o500)
        try:
            yield
        finally:
            for one in folders:
                one.chmod(0o700)


@contextmanager
def _as_others_may() -> Iterator[None]:
    """The superuser goes by the permissions of files, as everybody does."""
    if not hasattr(os, "geteuid"):
        pytest.skip("folders go by other rules here")
    if os.geteuid() != 0:
        yield
        return
    if not sys.platform.startswith("linux"):
        pytest.skip("the superuser may write everywhere")
    libc = ctypes.CDLL(None, use_errno=True)
    header, sets = _Header(_CAPABILITIES_3, 0), (_Set * 2)()
    assert libc.capget(ctypes.byref(header), sets) == 0
    before = sets[0].effective
    sets[0].effective = before & ~_GOES_PAST_PERMISSIONS
    assert libc.capset(ctypes.byref(header), sets) == 0
    try:
        yield
    finally:
        sets[0].effective = before
        assert libc.capset(ctypes.byref(header), sets) == 0
