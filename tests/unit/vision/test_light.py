"""Whether there is light to see by, on drawn players."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.vision.test_any_picture import MANY, STANDING, pictures, players
from trainer.vision import light
from trainer.vision.light import LightWatch, burnt_out, calmed, light_of

SIZE = (480, 640)
BODY = {n: (320 + 300 * x, 90 + 300 * y, 0.9) for n, (x, y) in STANDING.items()}


def scene(ground: float = 140.0, clothes: float = 60.0, skin: float = 150.0) -> np.ndarray:
    image = np.full((*SIZE, 3), ground, np.float64)

    def at(name: str) -> tuple[int, int]:
        return round(BODY[name][0]), round(BODY[name][1])

    cv2.rectangle(image, (285, 150), (355, 380), (clothes,) * 3, -1)
    cv2.circle(image, at("nose"), 26, (skin,) * 3, -1)
    cv2.line(image, at("left_ear"), at("nose"), (skin / 3,) * 3, 3)
    for wrist in ("left_wrist", "right_wrist"):
        cv2.circle(image, at(wrist), 9, (skin,) * 3, -1)
    return image


def lit(image: np.ndarray, gain: float = 1.0, offset: float = 0.0) -> np.ndarray:
    return np.clip(image * gain + offset, 0, 255).astype(np.uint8)


@pytest.mark.parametrize(
    ("gain", "offset", "line"),
    [
        (1.0, 0.0, ""),
        (0.6, 0.0, ""),
        (0.2, 0.0, light.DARK_LINE),
        (0.02, 0.0, light.BLACK_LINE),
        (1.0, 150.0, light.BRIGHT_LINE),
        (0.0, 255.0, light.BRIGHT_LINE),
    ],
)
def test_whole_picture(gain: float, offset: float, line: str) -> None:
    assert light_of(lit(scene(), gain, offset), BODY).line == line
    assert light_of(lit(scene(), gain, offset), None).line == line


@pytest.mark.parametrize(
    ("grey_levels", "gain", "line"), [(14.0, 1.0, light.NOISY_LINE), (4.0, 1.0, ""), (0.0, 1.3, "")]
)
def test_noise_is_found_out_and_light_that_jumps_is_none(grey_levels: float, gain: float, line: str) -> None:
    watch, rng = LightWatch(), np.random.default_rng(2)
    for k in range(3):
        varied = scene() * np.linspace(0.5, 1.3, SIZE[1])[None, :, None]
        noisy = varied + rng.normal(0, grey_levels, (*SIZE, 3)) if grey_levels else varied
        found = watch.see(lit(noisy, gain if k == 2 else 1.0), k * light.EVERY_S, BODY)
    assert found.line == line
    assert found.noisy == (line == light.NOISY_LINE)


def test_haze_is_taken_out_by_one_table_until_it_changes() -> None:
    watch, clear = LightWatch(), scene() * np.linspace(0.1, 1.4, SIZE[1])[None, :, None]
    assert watch.see(lit(clear), 0.0, BODY).table is None
    hazy = [lit(clear, 0.35, 133.0 + k) for k in (0, 1, 40)]
    tables = [watch.see(image, (k + 1) * light.EVERY_S, BODY).table for k, image in enumerate(hazy)]
    assert tables[0] is tables[1]
    assert not np.array_equal(tables[1], tables[2])
    spread = tables[0][hazy[0]].astype(float)
    assert spread.std() > 2.0 * hazy[0].astype(float).std()
    assert spread.max() < 255  # a ball, the brightest there is, is not burnt out by it
    assert watch.see(lit(clear), 4 * light.EVERY_S, BODY).table is None


def test_the_haze_is_the_same_with_the_ball_and_without() -> None:
    watch, clear = LightWatch(), scene() * np.linspace(0.45, 1.1, SIZE[1])[None, :, None]
    small = (slice(421, 427), slice(331, 337))  # what a ball may leave between the places that are looked at
    tables = []
    for k, ball in enumerate((200.0, None, 200.0, None)):
        shown = clear.copy()
        if ball is not None:
            shown[small] = ball
        tables.append(watch.see(lit(shown, 0.5, 70.0), k * light.EVERY_S, BODY).table)
    assert tables[0] is not None
    assert all(table is tables[0] for table in tables)


def test_what_lies_in_the_dark_stands_out_by_one_table_until_it_is_darker_or_brighter() -> None:
    watch, shown = LightWatch(), scene() * np.linspace(0.1, 1.4, SIZE[1])[None, :, None]
    dark = [lit(shown, gain) for gain in (0.4, 0.42, 0.2, 0.4)]
    tables = [watch.see(image, k * light.EVERY_S, None).table for k, image in enumerate(dark)]
    assert tables[0] is tables[1]
    assert not np.array_equal(tables[1], tables[2])
    assert not np.array_equal(tables[2], tables[3])
    for image, table in ((dark[0], tables[0]), (dark[2], tables[2])):
        assert table[image].astype(float).std() > 2.5 * image.astype(float).std()
        assert table[image].max() < 255
    assert watch.see(lit(shown), 4 * light.EVERY_S, None).table is None
    assert watch.see(lit(shown, 0.02), 5 * light.EVERY_S, None).table is None  # black: there is only noise to be spread


@pytest.mark.parametrize(
    ("light_left", "noisy", "trust"), [(0.5, False, 1.0), (0.25, True, 1.0), (0.1, True, light.DROWNED)]
)
def test_noise_grows_as_the_dark_is_spread(light_left: float, noisy: bool, trust: float) -> None:
    watch, rng = LightWatch(), np.random.default_rng(2)
    varied = 1.4 * scene() * np.linspace(0.5, 1.0, SIZE[1])[None, :, None]
    for k in range(3):
        found = watch.see(lit(varied * light_left + rng.normal(0, 4.0, (*SIZE, 3))), k * light.EVERY_S, None)
    assert (found.noisy, found.trust) == (noisy, trust)


def test_a_lamp_behind_a_player_in_the_dark_is_not_what_is_to_be_seen() -> None:
    dark = lit(scene() * np.linspace(0.1, 1.4, SIZE[1])[None, :, None], 0.4)
    lamp = dark.copy()
    lamp[20:50, 580:620] = 255
    unknown, known = LightWatch(), LightWatch()
    assert unknown.see(lamp, 0.0, None).table is None
    tables = [known.see(lamp, k * light.EVERY_S, body).table for k, body in enumerate((BODY, None, BODY))]
    assert tables[0] is not None
    assert all(table is tables[0] for table in tables)  # nobody found in one picture
    player = lamp[150:380, 285:355]
    assert tables[0][player].astype(float).std() > 2.0 * player.astype(float).std()


def test_a_calmed_picture_keeps_a_shaft_and_little_of_the_noise() -> None:
    noise = np.random.default_rng(2).normal(0, 20.0, (*SIZE, 3))
    shaft = np.zeros((*SIZE, 3))
    shaft[:, 40:42] = 60.0
    ground, with_shaft = (calmed(np.clip(120.0 + noise + more, 0, 255).astype(np.uint8)) for more in (0.0, shaft))
    assert ground.astype(float).std() < 0.3 * 20.0
    assert (with_shaft.astype(float) - ground)[:, 40:42].mean() > 0.6 * 60.0


def test_light_from_behind_is_not_dark_clothes() -> None:
    assert light_of(lit(scene(230, 25, 35), 1.0), BODY).line == light.BEHIND_LINE
    assert light_of(lit(scene(230, 25, 90), 1.0), BODY).line == ""


@pytest.mark.parametrize(("gain", "offset"), [(1.0, 0.0), (0.3, 0.0), (1.2, 0.0)])
def test_a_face_that_shows_is_not_flat(gain: float, offset: float) -> None:
    assert not light_of(lit(scene(), gain, offset), BODY).head_flat


def test_a_face_in_black_or_white_is_flat() -> None:
    assert light_of(lit(scene(), 0.01), BODY).head_flat
    assert light_of(lit(scene(), 1.0, 230), BODY).head_flat


def test_burnt_out_ball() -> None:
    image = np.full((60, 60, 3), 120, np.uint8)
    cv2.circle(image, (30, 30), 5, (240, 244, 243), -1)
    assert not burnt_out(image, 30, 30, 10.0)
    assert burnt_out(lit(image.astype(float), 1.3), 30, 30, 10.0)
    assert not burnt_out(image, -50, 30, 10.0)


@given(st.data())
@MANY
def test_any_picture(data: st.DataObject) -> None:
    image = data.draw(pictures())
    told = light_of(image, data.draw(st.none() | players(image)))
    assert told.line in ("", light.BLACK_LINE, light.DARK_LINE, light.BRIGHT_LINE, light.BEHIND_LINE)
    assert (told.trust < 1.0) <= told.bright  # only what blinds the camera takes trust away
    if burnt_out(image, data.draw(st.floats(-50, 250)), data.draw(st.floats(-50, 250)), data.draw(st.floats(0, 60))):
        assert image.max() >= light.FULL


def test_it_is_looked_at_now_and_then() -> None:
    watch = LightWatch()
    assert watch.see(lit(scene(), 0.02), 0.0, BODY).line
    assert watch.see(lit(scene(), 1.0), light.EVERY_S / 2, BODY).line
    assert not watch.see(lit(scene(), 1.0), light.EVERY_S * 1.1, BODY).line
