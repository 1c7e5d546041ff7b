"""The camera's picture on a page: its newest frame, read beside the window."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

from trainer.app.start.cameras import KeptCamera
from trainer.errors import TrainerError
from trainer.feedback.signs import THEMES
from trainer.settings.model import Settings
from trainer.ui.drawing.link_view import draw_link
from trainer.ui.start import texts
from trainer.vision.sources.base import Source
from trainer.worker import Worker

END_S, LOOK_S = 3.0, 0.1


class CameraPeek:
    """``look`` begins with the camera of these settings, or goes on; ``fault``: why there is no picture, in a sentence."""

    def __init__(self, camera: KeptCamera) -> None:
        self._camera = camera
        self._worker: Worker | None = None
        self._of: object = None
        self._image: Any = None
        self._source: Source | None = None
        self.fault = ""

    def look(self, settings: Settings, folder: Path) -> None:
        """On the main thread. folder: of the data."""
        if self._of == settings.camera:
            return
        self.close()
        self._of, self.fault, self._image = settings.camera, "", None
        try:
            source = self._source = self._camera(settings, folder=folder)
        except TrainerError as error:
            self.fault = error.line()
            return
        self._worker = Worker("camera peek", lambda stop: self._read(source, stop))
        self._worker.start()

    def _read(self, source: Any, stop: threading.Event) -> None:
        try:
            while not stop.is_set():
                if not source.ready(LOOK_S):  # a phone that is not linked: whoever leaves the page need not wait for it
                    continue
                frame = source.read()
                if frame is None:
                    break
                self._image = frame.image
        except TrainerError as error:
            self.fault = error.line()
        finally:
            source.close()

    def close(self) -> None:
        """The camera stays open with its owner."""
        if self._worker is not None:
            self._worker.stop()
            self._worker.wait(END_S)
        self._worker, self._of, self._source = None, None, None

    def paint(self, canvas: Any, on: Any, box: Any, theme_name: str, scale: float) -> None:
        """The picture as large as the box allows."""
        theme, pg, image = THEMES[theme_name], canvas.pg, self._image
        waiting = self._source.waiting() if self._source is not None else None
        if waiting is not None:
            draw_link(canvas, on.subsurface(box.clip(on.get_rect())), waiting, theme_name, keys="")
            return
        pg.draw.rect(on, theme.panel, box, border_radius=6)
        if image is None:
            canvas.text(on, texts.CAMERA_OPENING, box.center, 20 * scale, theme.soft, "center", box.width - 20)
            return
        from trainer.vision.reduced import fitted

        rows, columns = image.shape[:2]
        scale = min(box.height / rows, box.width / columns)
        size = (max(1, round(columns * scale)), max(1, round(rows * scale)))
        frame = pg.image.frombuffer(fitted(image, size).tobytes(), size, "BGR")
        on.blit(frame, frame.get_rect(center=box.center))
