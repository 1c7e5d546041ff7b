"""A phone as the camera of a run: what it is asked for, and what it may play."""

from __future__ import annotations

from datetime import datetime, timezone
from pathlib import Path

from trainer.app.camera_mode import camera_mode
from trainer.camera_setup.setup_findings import ROOM_CM
from trainer.settings.model import Settings
from trainer.vision.sources.base import Clock
from trainer.vision.sources.phone.source import Guide, PhoneCamera, PhoneOptions

PLAYER_CM, STANCE_CM = 180.0, 50.0  # whom the frame on the phone fits
PLAYER_SHARE = 0.9  # of the picture's height


def phone_camera(settings: Settings, folder: Path, clock: Clock) -> PhoneCamera:
    """Not opened yet. folder: of the data, where the link's certificate is kept."""
    mode, phone = camera_mode(settings.camera, folder), settings.phone
    wide = (STANCE_CM + 2 * ROOM_CM) / PLAYER_CM
    guide = Guide((1 - PLAYER_SHARE) / 2, (1 + PLAYER_SHARE) / 2, wide)
    return PhoneCamera(
        PhoneOptions(
            folder,
            datetime.now(timezone.utc),
            mode.width,
            mode.height,
            mode.fps,
            phone.address,
            phone.port,
            guide,
            sounds,
        ),
        clock,
    )


def sounds() -> dict[str, bytes]:
    """Every packaged sound as a WAV file."""
    from trainer.feedback.tones import SOUND_NAMES
    from trainer.resources import data_path

    return {name: data_path("sounds", f"{name}.wav").read_bytes() for name in SOUND_NAMES}
