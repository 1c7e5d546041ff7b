"""The raw signals on disk: as release 0.1 wrote them, whatever they are called here."""

from __future__ import annotations

import io

import numpy as np
import pytest

from trainer.domain.observation import Observation
from trainer.domain.player_frame import Handedness, PlayerFrame, View
from trainer.domain.record import SIGNAL_NAMES, Signals
from trainer.store.signals import SIDE_COLUMNS, on_disk, pack, pack_turns, unpack, unpack_turns
from trainer.stroke.signals import sample_of, signals_of

WIDTH, X, Y = 640, 123.5, 321.25


def signals(view: View, hand: Handedness) -> Signals:
    """Three frames of a player who stays at one place of the picture."""
    frame = PlayerFrame(view, hand, WIDTH)
    names = ("lead_shoulder", "trail_shoulder", "lead_hip", "trail_hip", "lead_ankle", "trail_ankle", "lead_wrist")
    body = {name: frame.to_player(X, Y) for name in names}
    rows = [(k, k / 30, sample_of(Observation(k, k / 30, body, frame=frame))) for k in range(3)]
    return signals_of(rows, frame)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("view", ["face-on", "down-the-line"])
def test_they_come_back_as_they_were(view: View, hand: Handedness) -> None:
    seen = signals(view, hand)
    back = unpack(pack(seen), "here")
    assert back.frame == seen.frame
    assert set(back.columns) == set(seen.columns)
    for name, column in seen.columns.items():
        np.testing.assert_array_equal(back[name], column, err_msg=name)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_down_the_line_the_disk_has_the_picture_s_x_as_up_for_either_hand(hand: Handedness) -> None:
    stored = on_disk(signals("down-the-line", hand))
    assert tuple(stored) == SIGNAL_NAMES
    assert stored["lead_hip_along_px"].tolist() == [-Y] * 3
    assert stored["lead_hip_up_px"].tolist() == [X] * 3


def test_a_block_of_release_0_1_does_not_say_whose_it_is() -> None:
    """It reads as a right-hander's, so that the picture's x is drawn where it was; its spine is judged by where the hands are."""
    stored = on_disk(signals("down-the-line", "left"))
    out = io.BytesIO()
    np.savez_compressed(
        out, time_s=np.arange(3) / 30, index=np.arange(3), names=np.array(list(stored)), columns=np.array(list(stored.values())),
        view=np.array("down-the-line"),
    )  # fmt: skip
    back = unpack(out.getvalue(), "here")
    assert back.frame == PlayerFrame("down-the-line")
    assert back["lead_hip_across_px"].tolist() == [X] * 3
    assert back["lead_hip_up_px"].tolist() == [-Y] * 3
    assert np.isnan(back["lead_hip_along_px"]).all()


def test_the_few_columns_for_judging_say_the_same() -> None:
    seen = signals("down-the-line", "right")
    block = pack_turns(seen)
    assert block is not None
    back = unpack_turns(block, "down-the-line", "here")
    for name in SIDE_COLUMNS:
        across = name.replace("_up_", "_across_").replace("_along_", "_up_")
        np.testing.assert_array_equal(back[across], seen[across], err_msg=across)
    assert np.isnan(back["hands_up_px"]).all()  # not among them
