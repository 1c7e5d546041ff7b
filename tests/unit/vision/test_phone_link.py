"""The phone's link over TLS on loopback, its page played by a program: what gets in, what does not, lost and found again."""

from __future__ import annotations

import contextlib
import socket
from datetime import datetime, timezone
from pathlib import Path
from typing import Any, Iterator

import numpy as np
import pytest
from websockets.exceptions import ConnectionClosed, InvalidHandshake, InvalidMessage, InvalidStatus

from tests.support import burnt
from tests.support.phone_client import WAIT_S, PhoneClient, jpeg_of, linked, malformed, picture, unverified
from trainer.domain.observation import Frame
from trainer.errors import CameraError
from trainer.testing.fakes import FakeClock
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.phone import messages
from trainer.vision.sources.phone.server import MOST_CONNECTIONS, MOST_FROM_ONE
from trainer.vision.sources.phone.source import LEAVES_OUT, LEFT_OUT_FOR_S, LOST_S, PhoneCamera, PhoneOptions

AHEAD_S = 7000.0  # the phone's clock less ours
SOUND = b"RIFF1234WAVE"


@pytest.fixture
def clock() -> FakeClock:
    return FakeClock(100.0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One certificate for all."""
    return tmp_path_factory.mktemp("link")


def camera_on(folder: Path, clock: FakeClock | MonotonicClock, **options: Any) -> PhoneCamera:
    now = datetime.now(timezone.utc)
    return PhoneCamera(PhoneOptions(folder, now, address="127.0.0.1", port=0, **options), clock)


@pytest.fixture
def camera(folder: Path, clock: FakeClock) -> Iterator[PhoneCamera]:
    with camera_on(folder, clock, sounds=lambda: {"ready": SOUND}) as camera:
        yield camera


def address(camera: PhoneCamera) -> str:
    assert camera.link is not None
    return camera.link.address


def phone_of(camera: PhoneCamera, clock: FakeClock, name: str = "a" * 32) -> PhoneClient:
    return PhoneClient(address(camera), lambda: clock.now() + AHEAD_S, name)


def until(true: Any, what: str) -> None:
    """The server's thread comes to it."""
    import threading

    for _ in range(1000):
        if true():
            return
        threading.Event().wait(0.025)
    raise AssertionError(f"never: {what}")


def ready_for_pictures(phone: PhoneClient) -> None:
    """Enough round trips are made."""
    until(lambda: len(phone.said("ping")) > messages_before_pictures(), "round trips")


def messages_before_pictures() -> int:
    from trainer.vision.sources.phone.clock_map import LEAST_TRIPS

    return LEAST_TRIPS


def shown(camera: PhoneCamera, phone: PhoneClient, clock: FakeClock, number: int) -> Frame:
    """The phone shows a picture that it took a moment ago, and it is read."""
    phone.show(number, clock.now() + AHEAD_S - 0.03)
    frame = camera.read()
    assert frame is not None
    return frame


def test_pictures_come_with_the_time_at_which_they_were_taken(camera: PhoneCamera, clock: FakeClock) -> None:
    waiting = camera.waiting()
    assert waiting is not None
    assert waiting.address == address(camera)
    assert not camera.ready(0.0)
    with phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        for number in range(10):
            clock.advance(1 / 30)
            frame = shown(camera, phone, clock, number)
            assert (frame.index, burnt.number_of(frame.image)) == (number, number)
            # A round trip may be under way as the clock is set: some hundredths of a millisecond.
            assert frame.time_s == pytest.approx(clock.now() - 0.03, abs=2e-4)
        assert camera.waiting() is None
        assert camera.measured_fps == pytest.approx(30.0, rel=1e-3)
        until(lambda: phone.said("got") and phone.said("got")[-1]["n"] == 9, "answered")
        welcome = phone.said("welcome")[0]
        assert (welcome["width"], welcome["height"], welcome["rate"]) == (640, 480, 30.0)
    assert camera.dropped == 0


def test_60_pictures_a_second(folder: Path) -> None:
    """Recorded messages as fast as a 60 Hz camera makes them, decoded as they come."""
    clock = MonotonicClock()
    jpegs = [jpeg_of(number, 1280, 720) for number in range(12)]
    with camera_on(folder, clock, width=1280, height=720, rate=60.0) as camera:
        with PhoneClient(address(camera), clock.now) as phone:
            ready_for_pictures(phone)
            begun_s, seen = clock.now(), []
            for number in range(60):
                clock.sleep(begun_s + number / 60 - clock.now())
                phone.show(number, begun_s + number / 60, jpegs[number % 12])
                if camera.ready(0.0):
                    frame = camera.read()
                    assert frame is not None
                    seen.append(frame)
        while not seen or seen[-1].index < 59:
            frame = camera.read()
            assert frame is not None
            seen.append(frame)
        assert seen[0].index + len(seen) + camera.dropped == 60  # before the first was asked for none is missed
        times_s = np.array([frame.time_s for frame in seen]) - begun_s
        assert np.abs(times_s * 60 - np.round(times_s * 60)).max() / 60 < 0.002
        assert [burnt.number_of(frame.image) for frame in seen] == [round(60 * t) % 12 for t in times_s]
    assert len(seen) >= 30, "a machine with anything else to do still takes half of them"


def test_lost_and_found_again_three_times(camera: PhoneCamera, clock: FakeClock) -> None:
    number = 0
    for round_ in range(3):
        phone = phone_of(camera, clock, f"{round_:032x}")
        with phone:
            ready_for_pictures(phone)
            for _ in range(3):
                clock.advance(1 / 30)
                assert shown(camera, phone, clock, number).index == number
                number += 1
            phone.drop()
            phone.wait_until_closed()
        clock.advance(LOST_S + 0.1)
        waiting = camera.waiting()
        assert waiting is not None
        until(lambda: "gone" in camera.waiting().words, "said that it is gone")
    assert camera.notices() == ()


def test_pictures_that_the_page_left_out_are_missing_from_the_frames_numbers(
    camera: PhoneCamera, clock: FakeClock
) -> None:
    """So that whoever counts sees them lost; a page that is opened anew counts anew."""
    with phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        found, lost = [], []
        for number in (40, 41, 43, 46, 2, 3):
            clock.advance(0.1)
            found.append(shown(camera, phone, clock, number).index)
            lost.append(camera.loses_on_the_way)
        clock.advance(LEFT_OUT_FOR_S)
        shown(camera, phone, clock, 4)
        assert not camera.loses_on_the_way
    assert found == [0, 1, 3, 6, 7, 8]
    assert lost == [False, False, True, True, True, True]
    assert camera.notices() == (LEAVES_OUT,)


def test_the_same_page_takes_its_dead_link_over(camera: PhoneCamera, clock: FakeClock) -> None:
    with phone_of(camera, clock) as first:
        ready_for_pictures(first)
        with phone_of(camera, clock) as second:
            first.wait_until_closed()
            ready_for_pictures(second)
            clock.advance(0.1)
            shown(camera, second, clock, 1)
    assert camera.notices() == ()


def test_a_second_phone_is_sent_away_until_the_first_is_gone(camera: PhoneCamera, clock: FakeClock) -> None:
    with phone_of(camera, clock) as first:
        ready_for_pictures(first)
        with phone_of(camera, clock, "b" * 32) as second:
            second.wait_until_closed()
            assert "Another phone" in second.said("refused")[0]["why"]
            assert not second.said("welcome")
        clock.advance(0.1)
        shown(camera, first, clock, 1)
        assert camera.notices() == ("another phone tried to link while one was, and was sent away",)
    clock.advance(LOST_S + 0.1)
    with phone_of(camera, clock, "b" * 32) as second:
        ready_for_pictures(second)
        clock.advance(0.1)
        shown(camera, second, clock, 2)


def asked(camera: PhoneCamera, request: bytes) -> bytes:
    """All that is answered to these bytes over TLS."""
    host, port = address(camera).split("/")[2].split(":")
    with socket.create_connection((host, int(port)), timeout=WAIT_S) as plain, unverified().wrap_socket(plain) as link:
        link.sendall(request)
        answer = b""
        with contextlib.suppress(OSError):
            while part := link.recv(65536):
                answer += part
        return answer


def get(path: str, *headers: str, method: str = "GET") -> bytes:
    return "\r\n".join((f"{method} {path} HTTP/1.1", "Host: phone", *headers, "", "")).encode()


def test_one_page_and_nothing_else(camera: PhoneCamera) -> None:
    secret = "/" + address(camera).rpartition("/")[2]
    answer = asked(camera, get(secret))
    head, _, body = answer.partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 200")
    for line in (
        b"frame-ancestors 'none'",
        b"X-Frame-Options: DENY",
        b"Cache-Control: no-store",
        b"nosniff",
        b"no-referrer",
    ):
        assert line in head
    assert b"server" not in head.lower()
    assert b"</html>" in body
    for path in ("/", f"{secret}/../page.js"):
        assert asked(camera, get(path)) == b"", path
    assert b"</html>" not in asked(camera, get(secret, method="POST"))
    assert camera.notices() == ("somebody tried the phone's link with a wrong address, and got nothing",)


def test_a_wrong_secret_gets_no_link(camera: PhoneCamera, clock: FakeClock) -> None:
    right = address(camera)
    for wrong in (right[:-1] + ("a" if right[-1] != "a" else "b"), right.rpartition("/")[0] + "/"):
        with pytest.raises((InvalidHandshake, InvalidMessage, ConnectionClosed, EOFError, OSError)):
            linked(wrong, origin=right.rpartition("/")[0]).__enter__()
    with pytest.raises(InvalidStatus):
        linked(right, origin="https://elsewhere.example").__enter__()
    with phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        clock.advance(0.1)
        shown(camera, phone, clock, 1)


def test_a_flood_stays_within_bounds_and_stops_no_picture(camera: PhoneCamera, clock: FakeClock) -> None:
    """Two hundred connections that say nothing or nonsense, while a phone films."""
    host, port = address(camera).split("/")[2].split(":")
    server = camera._server
    assert server is not None
    with phone_of(camera, clock) as phone, contextlib.ExitStack() as opened:
        ready_for_pictures(phone)
        for number in range(200):
            link = opened.enter_context(socket.create_connection((host, int(port)), timeout=WAIT_S))
            with contextlib.suppress(OSError):
                link.sendall(b"" if number % 2 else b"\x16\x03\x01 nonsense\r\n\r\n")
            if number % 50 == 0:
                clock.advance(1 / 30)
                shown(camera, phone, clock, number)
        assert len(server.connections) <= min(MOST_CONNECTIONS, MOST_FROM_ONE)
    assert camera.measured_fps == pytest.approx(30.0, rel=1e-3)


def test_malformed_messages_end_the_link_and_nothing_more(camera: PhoneCamera, clock: FakeClock) -> None:
    for seed in range(12):
        with phone_of(camera, clock) as phone:
            until(lambda: phone.said("welcome"), "welcome")
            phone.send_raw(malformed(seed))
            phone.wait_until_closed()
    assert camera.notices() == ("the phone sent what no page of ours does; it has to link anew",)
    with phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        clock.advance(0.1)
        shown(camera, phone, clock, 1)


def test_too_many_messages_end_the_link(camera: PhoneCamera, clock: FakeClock) -> None:
    with phone_of(camera, clock) as phone:
        until(lambda: phone.said("welcome"), "welcome")
        with contextlib.suppress(ConnectionClosed):
            for number in range(1000):
                phone.send("pong", n=10_000 + number, at=1.0)
        phone.wait_until_closed()


def test_words_that_are_no_hello_are_not_answered(camera: PhoneCamera) -> None:
    for words in ('{"t":"end"}', "nothing", picture(1, 1.0)):
        with linked(address(camera)) as link:
            link.send(words)
            with pytest.raises(ConnectionClosed):
                link.recv(timeout=WAIT_S)
    assert not camera._over


def test_times_that_cannot_be_end_the_link(camera: PhoneCamera, clock: FakeClock) -> None:
    """An hour ahead: a phone's clock that jumped has to be laid over ours anew."""
    with phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        phone.show(1, clock.now() + AHEAD_S + 3600)
        phone.wait_until_closed()
    assert not camera.ready(0.0)


def test_a_turned_phone_waits_to_be_turned_back(camera: PhoneCamera, clock: FakeClock) -> None:
    with phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        clock.advance(0.1)
        shown(camera, phone, clock, 1)
        clock.advance(0.1)
        phone.show(2, clock.now() + AHEAD_S - 0.03, jpeg_of(2, 480, 640))
        until(lambda: camera.waiting() is not None, "said to be turned")
        waiting = camera.waiting()
        assert waiting is not None
        assert (waiting.words, waiting.todo) == (
            "Turn the phone back",
            "it began on its side, and stays so until the end",
        )
        clock.advance(0.1)
        assert shown(camera, phone, clock, 3).image.shape == (480, 640, 3)
        assert camera.waiting() is None


def test_end_on_the_phone_ends_the_source(camera: PhoneCamera, clock: FakeClock) -> None:
    with phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        phone.send("end")
        assert camera.read() is None
    assert camera.ready(0.0)


def test_cues_sound_on_the_phone_when_it_wants_them(camera: PhoneCamera, clock: FakeClock) -> None:
    assert not camera.play("ready")
    with phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        assert not camera.play("ready")
        phone.send("sounds")
        until(lambda: messages.sound("ready", SOUND) in phone.heard, "the samples")
        phone.send("state", rate=30, dropped=0, held=False, sounds=True)
        until(lambda: camera.play("ready"), "played there")
        until(lambda: phone.said("cue"), "told")
        assert not camera.play("of no phone's")
        clock.advance(0.02)
        phone.send("sounded", name="ready", late=15)
        until(lambda: camera.cue_delays_s, "how long it took")
        assert camera.cue_delays_s[0] == ("ready", pytest.approx(0.035))
        clock.advance(LOST_S + 1)
        assert not camera.play("ready"), "a phone that is gone sounds nothing: the computer is to"


def test_what_the_phone_gives_beside_what_was_asked_is_told(folder: Path, clock: FakeClock) -> None:
    with camera_on(folder, clock, width=1280, height=720, rate=60.0) as camera, phone_of(camera, clock) as phone:
        ready_for_pictures(phone)
        for number in range(50):
            clock.advance(1 / 30)
            shown(camera, phone, clock, number)
        size, rate = camera.notices()
        assert size == "the phone gives 640x480 where 1280x720 was asked for"
        assert rate.startswith("the phone gives 30 frames a second where 60 were asked for")


def test_closed_it_listens_no_more(folder: Path, clock: FakeClock) -> None:
    camera = camera_on(folder, clock)
    with camera:
        host, port = address(camera).split("/")[2].split(":")
    assert camera.read() is None
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection((host, int(port)), timeout=WAIT_S)


def test_it_closes_soon_though_others_hold_on(folder: Path, clock: FakeClock) -> None:
    """A browser opens connections ahead and says nothing on them; somebody is kept waiting for a wrong secret."""
    camera = camera_on(folder, clock)
    with camera, contextlib.ExitStack() as opened:
        host, port = address(camera).split("/")[2].split(":")
        for request in (b"", get("/")):
            plain = opened.enter_context(socket.create_connection((host, int(port)), timeout=WAIT_S))
            link = opened.enter_context(unverified().wrap_socket(plain))
            link.sendall(request)
        until(camera.notices, "the wrong one came")
        assert camera.close()


def test_without_the_extra_it_says_what_to_install(
    folder: Path, clock: FakeClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "segno", None)
    with pytest.raises(CameraError, match=r"needs segno; pip install 'putting-trainer\[phone\]'"):
        camera_on(folder, clock).start()
