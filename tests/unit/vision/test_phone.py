"""The phone's parts on their own: messages, clocks, who may link, the certificate, where the link is."""

from __future__ import annotations

import json
import random
import ssl
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.phone_client import jpeg_of, picture
from trainer.errors import CameraError, StoreError, UsageError
from trainer.testing.fakes import FakeClock
from trainer.vision.sources.phone import messages
from trainer.vision.sources.phone.certificate import DAYS, RENEWED_DAYS, kept_certificate
from trainer.vision.sources.phone.clock_map import FAR_SLEW, LEAST_TRIPS, SLEW, ClockMap
from trainer.vision.sources.phone.gate import FIRST_DELAY_S, FORGIVEN_S, LETTERS, MOST_DELAY_S, PEERS, Gate, new_secret
from trainer.vision.sources.phone.messages import Malformed, Picture
from trainer.vision.sources.phone.page import page
from trainer.vision.sources.phone.place import is_local, link_to, listening, own_address

NOW = datetime(2026, 3, 1, tzinfo=timezone.utc)
GOOD = (
    picture(7, 12.5, jpeg_of(7, 160, 120)),
    '{"t":"hello","phone":"0123456789abcdef0123456789abcdef"}',
    '{"t":"pong","n":3,"at":1234.5}',
    '{"t":"state","rate":29.97,"dropped":4,"held":false,"sounds":true}',
    '{"t":"sounded","name":"ready","late":12.5}',
    '{"t":"end"}',
)


def test_what_the_page_sends_is_understood() -> None:
    kinds = [type(messages.read(message)) for message in GOOD]
    assert kinds == [Picture, messages.Hello, messages.Answer, messages.State, messages.Sounded, messages.Wish]
    seen = messages.read(GOOD[0])
    assert isinstance(seen, Picture)
    assert (seen.number, seen.captured_ms, seen.size) == (7, 12500.0, (160, 120))


@given(st.one_of(st.binary(max_size=400), st.text(max_size=200)))
@settings(max_examples=150)
def test_anything_else_is_malformed_and_nothing_worse(message: bytes | str) -> None:
    try:
        found = messages.read(message)
    except Malformed:
        return
    assert not isinstance(found, Picture)


JSON = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=90)),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)


@given(st.sampled_from([m for m in GOOD if isinstance(m, str)]), st.data())
@settings(max_examples=200)
def test_a_good_message_with_one_value_exchanged(message: str, data: st.DataObject) -> None:
    """Never an error of another kind, and what is let through is of the type that it says."""
    values = json.loads(message)
    key = data.draw(st.sampled_from(sorted(values)))
    values[key] = data.draw(JSON)
    try:
        found = messages.read(json.dumps(values))
    except Malformed:
        return
    if isinstance(found, messages.State):
        assert found.rate is None or 0 <= found.rate <= 1000
        assert isinstance(found.held, bool)


def test_500_pictures_with_bytes_exchanged_or_lost() -> None:
    """Whatever header comes out, the size that is believed is within bounds, for decoding takes memory by it."""
    random_ = random.Random(4)
    good = bytearray(GOOD[0])
    let_through = 0
    for _ in range(500):
        bad = bytearray(good)
        for _ in range(random_.randint(1, 6)):
            bad[random_.randrange(min(len(bad), 400))] = random_.randrange(256)
        if random_.random() < 0.3:
            del bad[random_.randrange(len(bad)) :]
        try:
            found = messages.read(bytes(bad))
        except Malformed:
            continue
        assert isinstance(found, Picture)
        assert max(found.size) <= messages.MOST_SIDE
        let_through += 1
    assert 0 < let_through < 500  # some bytes are the picture's own


@pytest.mark.parametrize(
    "message",
    [
        picture(1, float("nan")),
        picture(1, -1.0),
        picture(1, 1e20),
        picture(1, 1.0, b"\xff\xd8" + b"\0" * messages.MOST_BYTES + b"\xff\xd9"),
        picture(1, 1.0, b""),
        picture(1, 1.0, jpeg_of(1, 160, 120)[:-2]),
        b"\2" + picture(1, 1.0)[1:],
        '{"t":"pong","n":1,"at":NaN}',
        '{"t":"pong","n":true,"at":1}',
        "[" * 1999,
        '{"t":"hello","phone":"short"}',
        '{"t":"other"}',
    ],
)
def test_out_of_bounds(message: bytes | str) -> None:
    with pytest.raises(Malformed):
        messages.read(message)


def test_a_picture_that_says_it_is_huge() -> None:
    jpeg = bytearray(jpeg_of(1, 160, 120))
    at = jpeg.index(b"\xff\xc0")
    jpeg[at + 5 : at + 9] = b"\xff\xff\xff\xff"
    with pytest.raises(Malformed, match="size"):
        messages.read(picture(1, 1.0, bytes(jpeg)))


# ---- clocks


@given(
    st.floats(-1e5, 1e5), st.floats(-100e-6, 100e-6), st.floats(0.001, 0.02), st.floats(0, 0.15), st.integers(0, 2**32)
)
@settings(max_examples=60)
def test_the_clocks_are_laid_over_each_other(
    offset_s: float, drift: float, quick_s: float, queue_s: float, seed: int
) -> None:
    """Two minutes of round trips, half of whose answers queue behind pictures: told within 3 ms and half of the quickest trip,
    and no two frames are moved against each other by more than the slew, once it has settled."""
    random_ = random.Random(seed)
    found, worst_s, last = ClockMap(), 0.0, None
    base_s = 2e5

    def phone(ours_s: float) -> float:
        return base_s + offset_s + ours_s * (1 + drift)

    back_s = 0.0
    for number in range(140):
        ours_s = back_s + (0.1 if number < 10 else 1.0)
        there_s = ours_s + quick_s / 2 + random_.uniform(0, 0.001)
        late_s = random_.uniform(0, queue_s) if random_.random() < 0.5 else 0.0
        back_s = there_s + quick_s / 2 + random_.uniform(0, 0.001) + late_s
        found.add(ours_s, phone(there_s), back_s)
        told_s = found.ours(phone(back_s))
        assert (told_s is None) == (number + 1 < LEAST_TRIPS)
        if told_s is None:
            continue
        if number > 30:
            worst_s = max(worst_s, abs(told_s - back_s))
        if last is not None:
            moved_s = (told_s - last[0]) - (phone(back_s) - last[1])
            assert abs(moved_s) <= (SLEW if number > 30 else FAR_SLEW) * (phone(back_s) - last[1]) + 1e-6
        last = (told_s, phone(back_s))
    assert worst_s < 0.003 + quick_s / 2


def test_a_phone_that_slept() -> None:
    """Its clock stood still for a minute: the map jumps with it, and soon."""
    found = ClockMap()
    for k in range(20):
        found.add(k, 100 + k + 0.005, k + 0.01)
    before_s = found.ours(120.0)
    assert before_s is not None
    assert abs(before_s - 20.0) < 0.01
    found.add(80.0, 121.005, 80.01)
    after_s = found.ours(121.005)
    assert after_s is not None
    assert abs(after_s - 80.005) < 0.01


# ---- who may link


def test_the_secret_has_128_bits_in_letters_that_are_not_mistaken() -> None:
    some = {new_secret() for _ in range(200)}
    assert len(some) == 200
    for secret in some:
        letters = secret.replace("-", "")
        assert len(letters) * 5 >= 128
        assert set(letters) <= set(LETTERS)
    assert len(set(LETTERS)) == 32
    assert not set("lo01") & set(LETTERS)


def test_only_the_secret_opens() -> None:
    secret = new_secret()
    gate = Gate(secret, FakeClock())
    for path in (f"/{secret}", f"/{secret.replace('-', '')}", f"/{secret.upper()}"):
        assert gate.opens(path)
    for path in (
        "/",
        "",
        secret,
        f"/{secret}x",
        f"/{secret[:-1]}",
        f"/{secret}/",
        f"/{secret}?a",
        f"//{secret}",
        "/é\udcff",
    ):
        assert not gate.opens(path), path


def test_a_wrong_secret_is_slowed_down() -> None:
    clock = FakeClock(50.0)
    gate = Gate(new_secret(), clock)
    delays = [gate.refused("a") for _ in range(8)]
    assert delays == [FIRST_DELAY_S * 2**k for k in range(5)] + [MOST_DELAY_S] * 3
    assert gate.refused("b") == FIRST_DELAY_S
    clock.advance(FORGIVEN_S + 1)
    assert gate.refused("a") == FIRST_DELAY_S
    for k in range(3 * PEERS):
        gate.refused(str(k))
    assert gate.wrong == 10 + 3 * PEERS


# ---- certificate and place


def addresses(path: Path) -> list[str]:
    from cryptography import x509

    names = x509.load_pem_x509_certificate(path.read_bytes()).extensions
    return [
        str(a)
        for a in names.get_extension_for_class(x509.SubjectAlternativeName).value.get_values_for_type(x509.IPAddress)
    ]


def test_the_certificate_is_made_once_and_kept(tmp_path: Path) -> None:
    path = kept_certificate(tmp_path, "192.168.1.2", NOW)
    made = path.read_bytes()
    assert path.stat().st_mode & 0o077 == 0
    assert kept_certificate(tmp_path, "192.168.1.2", NOW + timedelta(days=100)).read_bytes() == made
    ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(path)
    kept_certificate(tmp_path, "10.0.0.7", NOW)
    assert addresses(path) == ["10.0.0.7", "192.168.1.2"]
    moved = path.read_bytes()
    assert kept_certificate(tmp_path, "192.168.1.2", NOW).read_bytes() == moved  # back home: not made anew
    kept_certificate(tmp_path, "10.0.0.7", NOW + timedelta(days=DAYS - RENEWED_DAYS + 1))
    assert path.read_bytes() != moved


@pytest.mark.parametrize(
    "content", [b"", b"not a certificate", b"-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n"]
)
def test_a_damaged_certificate_is_made_anew(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "phone" / "certificate.pem"
    path.parent.mkdir()
    path.write_bytes(content)
    kept_certificate(tmp_path, "10.0.0.7", NOW)
    assert addresses(path) == ["10.0.0.7"]


def test_no_place_for_a_certificate(tmp_path: Path) -> None:
    (tmp_path / "phone").write_text("in the way")
    with pytest.raises(StoreError, match="cannot be written"):
        kept_certificate(tmp_path, "10.0.0.7", NOW)


def test_local_addresses_only() -> None:
    assert all(map(is_local, ("127.0.0.1", "192.168.1.2", "10.1.2.3", "172.20.10.2", "169.254.1.1")))
    assert not any(map(is_local, ("8.8.8.8", "0.0.0.0", "", "phone", "2001:4860:4860::8888")))
    assert own_address("192.168.1.2") == "192.168.1.2"
    for wrong in ("8.8.8.8", "my computer"):
        with pytest.raises(UsageError):
            own_address(wrong)


def test_a_taken_port_is_stepped_over() -> None:
    with listening("127.0.0.1", 0) as first:
        port = first.getsockname()[1]
        with listening("127.0.0.1", port) as second:
            assert second.getsockname()[1] != port
    with pytest.raises(CameraError, match="no link can be opened"):
        listening("192.0.2.77", 0)


def test_the_code_holds_the_address() -> None:
    import cv2
    import numpy as np

    link = link_to("https://192.168.100.200:8443", "h4kd-9mqr-tw")  # OpenCV's reader misses one code in 300
    dots = np.pad(~np.array(link.qr), 4, constant_values=True).astype(np.uint8) * 255
    image = cv2.resize(dots, None, fx=8, fy=8, interpolation=cv2.INTER_NEAREST)
    assert cv2.QRCodeDetector().detectAndDecode(image)[0] == link.address


def test_the_page_may_do_nothing_but_link() -> None:
    body, headers = page("https://10.0.0.7:8443")
    policy = dict(part.split(" ", 1) for part in headers["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == policy["frame-ancestors"] == policy["base-uri"] == policy["form-action"] == "'none'"
    assert policy["connect-src"] == "wss://10.0.0.7:8443"
    assert policy["script-src"].startswith("'sha256-")
    text = body.decode()
    assert "/*js*/" not in text
    for outside in ("http://", "https://", "src=", "href=", "@import", "url("):
        assert outside not in text, outside
