"""How late each loudspeaker was found to be, and the buffer that was chosen for it. One small file in the data folder."""

from __future__ import annotations

import json
from pathlib import Path

from trainer.store.folder import json_object, write_atomically

FILE = "sound.json"
LATEST_S = 2.0
MOST_SAMPLES = 8192


def remember_delay(base: Path, device: str, delay_s: float) -> None:
    """Raises StoreError when it cannot be written."""
    _remember(base, device, {"delay_s": round(delay_s, 4)})


def recall_delay(base: Path, device: str) -> float | None:
    """None when nothing is known of it, or nothing that can be read."""
    found = json_object(base / FILE).get(device)
    value = found.get("delay_s") if isinstance(found, dict) else None
    return float(value) if isinstance(value, (int, float)) and 0 <= value <= LATEST_S else None


def remember_buffer(base: Path, device: str, samples: int) -> None:
    """device: as ``sound.device`` names it. Raises StoreError when it cannot be written."""
    _remember(base, _named(device), {"buffer_samples": samples})


def recall_buffer(base: Path, device: str) -> int | None:
    """None when none was chosen for it, or nothing that can be read."""
    found = json_object(base / FILE).get(_named(device))
    value = found.get("buffer_samples") if isinstance(found, dict) else None
    return value if isinstance(value, int) and 64 <= value <= MOST_SAMPLES else None


def _named(device: str) -> str:
    return f"loudspeaker {device}" if device else "the system's own loudspeaker"


def _remember(base: Path, key: str, what: dict[str, float]) -> None:
    known = {**json_object(base / FILE), key: what}
    write_atomically(base / FILE, (json.dumps(known, indent=1) + "\n").encode())
