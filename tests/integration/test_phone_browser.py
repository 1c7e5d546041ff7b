"""A real browser as the phone: the page films, links, is cut off and comes back, and looks right on a phone's screen.

All ten clips, with what they measured: tests/bench/phone.py.
"""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Iterator

import cv2
import numpy as np
import pytest

from tests.support import burnt
from tests.support.approved_pictures import assert_approved
from tests.support.browser import Browser, Steered, write_y4m
from tests.support.firefox import Firefox, made_s
from tests.support.paths import CLIPS
from tests.support.phone_recording import LEAD, OneRound, numbered, opened_link, read_clip, seen_in
from trainer.domain.observation import Frame
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.phone.source import LEAVES_OUT, PhoneCamera

FPS, FRAMES = 30, 150
PHONE, TURNED = (390, 844), (844, 390)  # a usual screen, in the units of style sheets


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("film")
    return write_y4m(folder / "camera.y4m", (burnt.picture(number) for number in range(FRAMES)), FPS)


@pytest.fixture
def linked(tmp_path: Path, film: Path) -> Iterator[tuple[PhoneCamera, Browser]]:
    with opened_link(tmp_path, (640, 480), FPS) as camera, Browser(film) as browser:
        assert camera.link is not None
        browser.open(camera.link.address)
        yield camera, browser


def some(camera: PhoneCamera, count: int) -> list[Frame]:
    found = []
    for frame in camera:
        found.append(frame)
        if len(found) == count:
            break
    return found


def words(browser: Steered) -> str:
    return str(browser.run("document.getElementById('words').textContent"))


@pytest.mark.timed
def test_the_page_films_with_true_times_and_is_cut_off_three_times(linked: tuple[PhoneCamera, Browser]) -> None:
    """Each frame's time against the number burnt into it; the link torn from the page's side, and back by itself."""
    camera, browser = linked
    clock = MonotonicClock()
    seen, delays_s = [], []
    for frame in camera:
        delays_s.append(clock.now() - frame.time_s)
        seen.append((frame.time_s, burnt.number_of(frame.image)))
        if len(seen) == 90:
            break
    times_s, numbers = np.array(seen).T
    shown_s = np.cumsum(np.concatenate([[0], np.diff(numbers) % FRAMES])) / FPS
    off_s = times_s - shown_s
    off_s -= np.median(off_s)
    assert np.sqrt(np.mean(off_s**2)) < 0.010  # 3 to 5 ms where two processors were shared by many
    assert 0 < np.median(delays_s) < 0.150
    for _ in range(3):
        browser.run("link.close()")
        assert len(some(camera, 10)) == 10
    assert camera.waiting() is None
    assert [line for line in camera.notices() if "frames a second" not in line and line != LEAVES_OUT] == []
    browser.run("document.getElementById('end').click()")
    list(camera)  # what was on its way, then the end
    assert words(browser) == "Ended"


@pytest.mark.timed
def test_firefox_films_too(tmp_path: Path) -> None:
    """Each picture's time against the one that is burnt into it; cut off and back, ended on the page."""
    with opened_link(tmp_path, (640, 480), FPS) as camera, Firefox() as browser:
        assert camera.link is not None
        browser.open(camera.link.address)
        frames = some(camera, 90)[30:]
        since_1970_s = time.time() - MonotonicClock().now()
        off_s = np.array([frame.time_s + since_1970_s - made_s(frame.image) for frame in frames])
        assert frames[0].image.shape == (480, 640, 3)
        assert np.std(off_s) < 0.010  # 4 ms where two processors were shared by many
        assert abs(np.median(off_s)) < 0.050
        browser.run("link.close()")
        assert len(some(camera, 10)) == 10
        browser.run("document.getElementById('end').click()")
        list(camera)
        assert words(browser) == "Ended"


LIVE = "left_stall_white_cap"  # by its own truth: one ball stroke of a left-hander whose hands stop


@pytest.mark.timed
def test_practice_on_what_the_page_films_right_now(tmp_path: Path) -> None:
    """Kinds, counts and faults are the file's. Where a busy machine loses pictures the fault is found or said to be unsure, and
    nothing else is found; where too many are lost for any stroke, that is said."""
    images, fps = read_clip(CLIPS / f"{LIVE}.mp4")
    truth = json.loads((CLIPS / f"{LIVE}.json").read_text())
    with Browser(write_y4m(tmp_path / "camera.y4m", numbered(images), fps)) as browser:
        phone = OneRound(tmp_path, browser, fps)
        seen = seen_in(tmp_path, phone, 0.0, truth["view"], truth["handedness"])
    if sum(number >= LEAD for number in phone.numbers) < 0.9 * len(images):
        assert phone.dropped or LEAVES_OUT in phone.notices()
        for stroke in seen:
            assert "hand_stall" in {*stroke.faults, *stroke.unsure}
            assert set(stroke.faults) <= {"hand_stall"}
        return
    assert [(stroke.kind, stroke.faults) for stroke in seen] == [("ball", ("hand_stall",))]
    stroke, (true,) = seen[0].events_s, truth["strokes"]
    for long in ("impact_s", "settle_s"):
        assert stroke[long] - stroke["top_s"] == pytest.approx(true[long] - true["top_s"], abs=0.1)


@pytest.mark.timed
def test_the_page_sounds_cues(tmp_path: Path, film: Path) -> None:
    """Its own sound begins them, and says how long that takes."""
    from datetime import datetime, timezone

    from trainer.app.phone import sounds
    from trainer.vision.sources.phone.source import PhoneOptions

    options = PhoneOptions(tmp_path, datetime.now(timezone.utc), address="127.0.0.1", port=0, sounds=sounds)
    with PhoneCamera(options, MonotonicClock()) as camera, Browser(film) as browser:
        assert camera.link is not None
        browser.open(camera.link.address)
        some(camera, 5)
        assert not camera.play("ready")
        browser.run("document.getElementById('sound').click()")
        for _ in camera:
            if browser.run("sounds.size") == len(sounds()) and camera.play("early_look"):
                break
        for _ in camera:
            if camera.cue_delays_s:
                break
        (name, delay_s), *_ = camera.cue_delays_s
        assert name == "early_look"
        assert 0 < delay_s < 0.5


@pytest.mark.timed
def test_the_page_on_a_phone_upright_and_on_its_side(linked: tuple[PhoneCamera, Browser], tmp_path: Path) -> None:
    """Nothing cut off, every button large enough for a finger, and as it was approved. The picture stands still for it."""
    camera, browser = linked
    some(camera, 5)
    browser.run("tellLink = () => {}; video.style.opacity = 0; 0")
    browser.run("say('Filming', '640x480, 30 pictures a second, 40 ms on their way'); 0")
    browser.run("document.getElementById('hold').hidden = false; 0")
    for size, name in ((PHONE, "phone-upright"), (TURNED, "phone-on-its-side")):
        browser.screen(size)
        browser.run(
            "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => { placeGuide(); done(1); })))"
        )
        boxes = browser.run(
            "[...document.querySelectorAll('button, h1, #view')].map((e) => e.getBoundingClientRect())"
            ".map((b) => [b.left, b.top, b.right, b.bottom])"
        )
        for left, top, right, bottom in boxes:
            assert 0 <= left < right <= size[0]
            assert 0 <= top < bottom <= size[1]
            assert bottom - top >= 20
        assert browser.run("document.documentElement.scrollHeight") <= size[1]
        low = "Math.min(...[...document.querySelectorAll('button')].map((e) => e.getBoundingClientRect().height))"
        assert browser.run(low) >= 44  # CSS px for a finger; the usual advice
        shown = cv2.imread(str(browser.picture(tmp_path / f"{name}.png")))
        assert_approved(shown, name)


LENSES = """(async () => {
  const now = track().getSettings().deviceId, camera = (deviceId, label) => ({ kind: 'videoinput', deviceId, label });
  navigator.mediaDevices.enumerateDevices = async () => [camera(now, 'Back Camera'), camera('w', 'Back Ultra Wide Camera')];
  await listLenses();
  return JSON.stringify([part('lenses').hidden, [...lens.options].map((each) => [each.text, each.disabled, each.selected])]);
})()"""
HOLDS = """(async () => {
  const asked = [];
  track = () => ({ label: 'Back Camera', applyConstraints: async (wish) => asked.push(wish.advanced[0]),
    getCapabilities: () => ({ exposureMode: ['manual', 'continuous'], focusMode: ['continuous'] }),
    getSettings: () => ({ exposureTime: 40, iso: 200, focusDistance: 3 }) });
  await hold(); await hold();
  return JSON.stringify([lockable(track().getCapabilities()), lockable({}), asked]);
})()"""


HELD_AWAKE = "lock !== null && lock.type === 'screen' && !lock.released"


def test_the_pages_lens_light_sides_and_wake(linked: tuple[PhoneCamera, Browser]) -> None:
    """A lens that bends lines is refused, what can be held is held at its value and let go again, the picture flipped; the screen
    is kept awake, and again when the page is come back to."""
    camera, browser = linked
    some(camera, 5)
    assert any(browser.run(HELD_AWAKE) for _ in some(camera, 30))
    assert not browser.run(f"lock.release().then(() => {HELD_AWAKE})")  # as a browser does whose page is hidden
    browser.run("document.dispatchEvent(new Event('visibilitychange')); 0")
    assert any(browser.run(HELD_AWAKE) for _ in some(camera, 30))
    browser.run("document.getElementById('flip').click()")
    for frame in camera:
        if (frame.image[:48, -48:] < 80).any() and (frame.image[: burnt.EDGE // 2, -160:] < 80).all():
            break  # the strip with the number is on the right
    assert 0 <= burnt.number_of(frame.image[:, ::-1]) < FRAMES
    hidden, lenses = json.loads(browser.run(LENSES))
    assert not hidden
    assert lenses == [
        ["Back Camera", False, True],
        ["Back Ultra Wide Camera (bends straight lines)", True, False],
    ]
    held = {"exposureMode": "manual", "exposureTime": 40, "iso": 200}
    assert json.loads(browser.run(HOLDS)) == [
        True,
        False,
        [held, {"exposureMode": "continuous", "focusMode": "continuous"}],
    ]


def test_a_browser_obeys_the_pages_policy(linked: tuple[PhoneCamera, Browser]) -> None:
    """No script of another's, no connection elsewhere, no picture from outside."""
    camera, browser = linked
    some(camera, 2)
    refused = browser.run(
        "(async () => { const found = [];"
        "document.addEventListener('securitypolicyviolation', (event) => found.push(event.effectiveDirective));"
        "const script = document.createElement('script'); script.textContent = 'window.got = 1'; document.body.append(script);"
        "const image = new Image(); image.src = 'https://192.0.2.1/a.png'; document.body.append(image);"
        "try { await fetch('https://192.0.2.1/'); } catch (error) {}"
        "await new Promise((done) => setTimeout(done, 100));"
        "return JSON.stringify([found.sort(), window.got === undefined]); })()"
    )
    assert json.loads(refused) == [["connect-src", "img-src", "script-src-elem"], True]
