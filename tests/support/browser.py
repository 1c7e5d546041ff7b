"""A headless browser steered over its own debugging port on loopback; Chromium, with a clip as its camera."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import tempfile
from abc import ABC, abstractmethod
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import Any, Iterable, Sequence, TypeVar

import numpy as np
import pytest

SteeredT = TypeVar("SteeredT", bound="Steered")
STARTS_S = 30.0
ANSWERS_S = 20.0


def chromium() -> str:
    """Its path, or a skip that says why; under CI it must be there."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        if os.environ.get("CI"):
            raise AssertionError("no chromium: apt-get install chromium")
        pytest.skip("no chromium to play the phone's browser: apt-get install chromium")
    return found


def write_y4m(path: Path, images: Iterable[Any], fps: int) -> Path:
    """BGR pictures as the raw video that Chromium takes for a camera; it begins anew at its end."""
    import cv2

    with path.open("wb") as file:
        for number, image in enumerate(images):
            height, width = image.shape[:2]
            if not number:
                file.write(f"YUV4MPEG2 W{width} H{height} F{fps}:1 Ip A1:1 C420jpeg\n".encode())
            file.write(b"FRAME\n" + np.ascontiguousarray(cv2.cvtColor(image, cv2.COLOR_BGR2YUV_I420)).tobytes())
    return path


class Steered(ABC):
    """A browser's process and the talk with it. ``with`` starts and ends it."""

    LISTENS, PATH = "", ""  # what it says before its address, and what belongs behind that

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="browser", ignore_cleanup_errors=True)
        self._process: subprocess.Popen[str] | None = None
        self._opened = ExitStack()
        self._talk: Any = None
        self._number = 0

    @abstractmethod
    def command(self, folder: str) -> list[str]:
        """What starts it. folder: for its profile."""

    @abstractmethod
    def begin(self) -> None:
        """The first words, once it listens."""

    @abstractmethod
    def open(self, address: str) -> None:
        """A page."""

    @abstractmethod
    def run(self, script: str) -> Any:
        """A script in the page; what it gives."""

    def __enter__(self: SteeredT) -> SteeredT:
        from websockets.sync.client import connect

        command = self.command(self._folder.name)
        self._process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        assert self._process.stderr is not None
        for line in self._process.stderr:
            if line.startswith(self.LISTENS):
                address = line.split()[-1] + self.PATH
                break
        else:
            raise AssertionError(f"{command[0]} did not start")
        self._talk = self._opened.enter_context(
            connect(address, max_size=None, open_timeout=STARTS_S, compression=None)
        )
        self.begin()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._opened.close()
        assert self._process is not None
        self._process.terminate()
        self._process.wait(ANSWERS_S)
        assert self._process.stderr is not None
        self._process.stderr.close()
        self._folder.cleanup()

    _session: str | None = None

    @property
    def pid(self) -> int:
        assert self._process is not None
        return self._process.pid

    def ask(self, method: str, **values: Any) -> dict[str, Any]:
        """One command of its debugging protocol, and its answer."""
        self._number += 1
        request: dict[str, Any] = {"id": self._number, "method": method, "params": values}
        if self._session is not None:
            request["sessionId"] = self._session
        self._talk.send(json.dumps(request))
        while True:
            answer = json.loads(self._talk.recv(timeout=ANSWERS_S))
            if answer.get("id") == self._number:
                assert "error" not in answer, answer
                result: dict[str, Any] = answer["result"]
                return result


class Browser(Steered):
    """Chromium. camera: a y4m file; size: of its window, as a phone's screen; more: arguments."""

    LISTENS = "DevTools listening on "

    def __init__(self, camera: Path, size: tuple[int, int] = (844, 390), more: Sequence[str] = ()) -> None:
        super().__init__()
        self._camera, self._size, self._more = camera, size, more

    def command(self, folder: str) -> list[str]:
        return [
            chromium(), "--headless=new", "--no-sandbox", "--disable-gpu", "--mute-audio", "--no-first-run",
            "--disable-dev-shm-usage", "--disable-background-networking", "--disable-component-update",
            "--disable-sync", "--no-default-browser-check",
            "--autoplay-policy=no-user-gesture-required", "--ignore-certificate-errors", "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream", f"--use-file-for-fake-video-capture={self._camera}",
            f"--window-size={self._size[0]},{self._size[1]}", f"--user-data-dir={folder}", "--remote-debugging-port=0",
            *self._more, "about:blank",
        ]  # fmt: skip

    def begin(self) -> None:
        pages = self.ask("Target.getTargets")["targetInfos"]
        target = next(each["targetId"] for each in pages if each["type"] == "page")
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        self.ask("Page.enable")

    def open(self, address: str) -> None:
        self.ask("Page.navigate", url=address)

    def run(self, script: str) -> Any:
        answer = self.ask(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True, userGesture=True
        )
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def screen(self, size: tuple[int, int]) -> None:
        """The page as on a phone of that screen, in the units of style sheets."""
        self.ask("Emulation.setDeviceMetricsOverride", width=size[0], height=size[1], deviceScaleFactor=2, mobile=True)

    def picture(self, path: Path) -> Path:
        import base64

        path.write_bytes(base64.b64decode(self.ask("Page.captureScreenshot", format="png")["data"]))
        return path
