"""A headless Firefox, steered over its own debugging port on loopback. It takes no clip for a camera: it has one of its own.

That camera's pictures change their colour and carry the time at which they were made.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.browser import Steered

PREFERENCES = {
    "media.navigator.streams.fake": True,
    "media.navigator.permission.disabled": True,
    "media.autoplay.default": 0,
    "dom.audiochannel.mutedByDefault": True,
    "datareporting.policy.dataSubmissionEnabled": False,
    "toolkit.telemetry.enabled": False,
    "app.update.auto": False,
    "app.normandy.enabled": False,
    "browser.shell.checkDefaultBrowser": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "services.settings.server": "data:,#",
}

STAMP_BITS, STAMP_PX = 64, 4  # along the upper edge, dark for 0, microseconds since 1970 (as its pictures show)


def made_s(image: Any) -> float:
    """Seconds since 1970 at which this picture of its camera was made."""
    rows = image[:STAMP_PX, : STAMP_BITS * STAMP_PX].astype(float).mean((0, 2))
    bits = rows.reshape(STAMP_BITS, STAMP_PX).mean(1) > image.mean() / 2
    return int.from_bytes(bytes(np.packbits(bits)), "little") / 1e6


class Firefox(Steered):
    """``with`` starts and ends it."""

    LISTENS, PATH = "WebDriver BiDi listening on ", "/session"

    def __init__(self) -> None:
        found = shutil.which("firefox-esr") or shutil.which("firefox")
        if found is None:  # before there is a folder that nobody would take away
            pytest.skip("no Firefox to play the phone's browser: apt-get install firefox-esr")
        super().__init__()
        self._found, self._context = found, ""

    def command(self, folder: str) -> list[str]:
        lines = (f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in PREFERENCES.items())
        Path(folder, "user.js").write_text("\n".join(lines), encoding="utf-8")
        return [self._found, "--headless", "--no-remote", "--profile", folder, "--remote-debugging-port=0"]

    def begin(self) -> None:
        self.ask("session.new", capabilities={"alwaysMatch": {"acceptInsecureCerts": True}})
        self._context = self.ask("browsingContext.getTree")["contexts"][0]["context"]

    def open(self, address: str) -> None:
        self.ask("browsingContext.navigate", context=self._context, url=address, wait="complete")

    def run(self, script: str) -> Any:
        """A script in the page; what it gives, where that is a number, a text or a truth."""
        target = {"context": self._context}
        answer = self.ask("script.evaluate", expression=script, target=target, awaitPromise=True, userActivation=True)
        assert answer["type"] == "success", answer
        return answer["result"].get("value")
