"""Phases by their values, as they are printed, and the sets of them."""

import json

from trainer.domain.phases import FOLLOWS, Phase


def test_a_phase_is_printed_and_stored_by_its_value() -> None:
    assert [str(p) for p in Phase] == [
        "away", "setting", "address", "backstroke", "forward", "follow", "hold", "looked", "walked_off"
    ]  # fmt: skip
    assert f"{Phase.WALKED_OFF}" == "walked_off"
    assert json.dumps({"phase": Phase.HOLD}) == '{"phase": "hold"}'
    assert Phase("hold") is Phase.HOLD


def test_every_phase_is_absent_or_standing_or_under_way() -> None:
    for phase in Phase:
        assert phase.absent + phase.standing + phase.under_way == 1, phase
        assert phase.under_way == (phase.swinging or phase.after_impact), phase


def test_a_stroke_under_way_began_at_address_and_is_certain_only_by_way_of_the_swing() -> None:
    for phase, following in FOLLOWS.items():
        for then in following:
            if then.under_way and not phase.under_way:
                assert (phase, then) == (Phase.ADDRESS, Phase.BACKSTROKE)
            if then.after_impact and not phase.after_impact:
                assert (phase, then) == (Phase.FORWARD, Phase.FOLLOW)


def test_eyes_stay_down_from_address_until_the_look() -> None:
    assert [p for p in Phase if p.eyes_down] == [
        Phase.ADDRESS, Phase.BACKSTROKE, Phase.FORWARD, Phase.FOLLOW, Phase.HOLD
    ]  # fmt: skip
    assert all(p.eyes_down for p in Phase if p.finishing)
