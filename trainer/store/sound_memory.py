"""How late each loudspeaker was found to be. One small file in the data folder."""

from __future__ import annotations

import json
from pathlib import Path

from trainer.store.folder import json_object, write_atomically

FILE = "sound.json"
LATEST_S = 2.0


def remember_delay(base: Path, device: str, delay_s: float) -> None:
    """Raises StoreError when it cannot be written."""
    known = {**json_object(base / FILE), device: {"delay_s": round(delay_s, 4)}}
    write_atomically(base / FILE, (json.dumps(known, indent=1) + "\n").encode())


def recall_delay(base: Path, device: str) -> float | None:
    """None when nothing is known of it, or nothing that can be read."""
    found = json_object(base / FILE).get(device)
    value = found.get("delay_s") if isinstance(found, dict) else None
    return float(value) if isinstance(value, (int, float)) and 0 <= value <= LATEST_S else None
