"""The cards: one for every fault and drill, every claim with where it comes from, every figure inside its panel."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from trainer.coaching.reasons import sources
from trainer.coaching.reasons.card import COMMON_PRACTICE, Card, Source
from trainer.coaching.reasons.find import ALL_CARDS, card_named, card_of_drill
from trainer.commands.cli import run
from trainer.domain.verdict import FAULT_NAMES
from trainer.report.reason_page import reasons_page
from trainer.resources import data_path
from trainer.settings.drill_file import known_drills, load_drill
from trainer.settings.drill_names import OLD_IDS

BUNDLED = data_path("config", "drills")
WORKS = [value for value in vars(sources).values() if isinstance(value, Source)]


def test_every_fault_and_every_bundled_drill_has_one() -> None:
    assert {card.name for card in ALL_CARDS if card.kind == "fault"} == set(FAULT_NAMES)
    assert {card.name for card in ALL_CARDS if card.kind == "drill"} == set(known_drills([BUNDLED]))


@pytest.mark.parametrize("card", ALL_CARDS, ids=lambda card: card.name)
def test_a_card_is_whole_and_short(card: Card) -> None:
    claims = [claim for _, some in card.sections() for claim in some]
    assert len(card.tries) == len({claim.text for claim in card.tries}) == 3
    assert card.why
    for claim in claims:
        assert claim.text[0].isupper()
        assert claim.text.endswith(".")
        assert len(claim.text) <= 240
        assert claim.source == COMMON_PRACTICE or all(source in WORKS for source in claim.sources)
    assert 60 < sum(len(claim.text.split()) for claim in claims) < 260


@pytest.mark.parametrize("card", ALL_CARDS, ids=lambda card: card.name)
def test_a_figure_is_inside_its_panel_and_told_in_words(card: Card) -> None:
    assert card.figure
    assert len(set(card.figure)) == len(card.figure)
    assert card.kind == "drill" or [panel.good for panel in card.figure] == [False, True]
    for panel in card.figure:
        places = [place for path in panel.paths for place in path.points] + [ring.at for ring in panel.rings]
        assert all(0 <= part <= 1 for place in places for part in place)
        assert panel.words.endswith(".")


def test_names_are_found_however_they_are_written() -> None:
    assert card_named("Hand stall") is card_named("hand_stall") is card_named("hand-stall") is not None
    for old, new in OLD_IDS.items():
        assert card_named(old) is card_named(new) is not None
    assert card_named("grip") is None


def test_a_drill_of_the_coachs_own_has_the_card_of_its_fault(tmp_path: Path) -> None:
    text = "[drill]\nname = 'Mine'\ninstruction = 'Do it'\n[pass]\nfaults = {}\n"
    (tmp_path / "mine.toml").write_text(text.format("['recoil', 'sway']"))
    (tmp_path / "free.toml").write_text(text.format("[]"))
    found = card_of_drill(load_drill("mine", [tmp_path]))
    assert found is not None
    assert found.name == "recoil"
    assert card_of_drill(load_drill("free", [tmp_path])) is None


def test_the_page_has_every_claim_with_its_source_and_fetches_nothing() -> None:
    page = reasons_page("Why", ALL_CARDS)
    claims = sum(len(some) for card in ALL_CARDS for _, some in card.sections())
    assert page.count('<span class="from">') == claims
    assert page.count("<svg") == sum(len(card.figure) for card in ALL_CARDS)
    assert not re.search(r"(src|href)=|https?:", page)


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = ["--data-folder", str(tmp_path)]
    assert run([*folder, "reasons", "quiet-hands"]) == 0
    said = capsys.readouterr().out
    assert "Hands carry on" in said
    assert "2018, Motricidade" in said
    assert COMMON_PRACTICE in said
    assert run([*folder, "reasons"]) == 0
    assert all(card.title in capsys.readouterr().out for card in ALL_CARDS[:1])
    page = tmp_path / "why.html"
    assert run([*folder, "reasons", "--page", str(page)]) == 0
    assert page.read_text(encoding="utf-8").count('class="card"') == len(ALL_CARDS)
    capsys.readouterr()
    assert run([*folder, "reasons", "grip"]) == 2
    assert "no card for grip" in capsys.readouterr().err
