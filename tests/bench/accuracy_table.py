"""What the accuracy bench found, as tables: all of it beside the bench, a player's eight rows in README."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from tests.bench.agreement import Told, confidence_table
from tests.support.paths import ROOT

JUDGED = ("early_look", "hand_stall", "recoil")
UNITS = {"s": ("ms", 1000.0), "deg": ("deg", 1.0), "cm": ("cm", 1.0), "cm/s": ("cm/s", 1.0), "1": ("", 1.0)}
BEGIN, END = "<!-- accuracy: begin -->", "<!-- accuracy: end -->"
WHOLE = ROOT / "tests" / "bench" / "accuracy.md"
DRAWS = 2000
# A player's words for a row, how the names of the rows begin that it takes together, unit as told, its factor, decimals.
PLAYER_ROWS = (
    ("when the putter starts back", ("takeaway (",), "s", 1.0, 3),
    ("when it meets the ball", ("impact (",), "s", 1.0, 3),
    ("when the putter has come to rest", ("settle (",), "s", 1.0, 3),
    ("when the head turns to look", ("look (",), "s", 1.0, 3),
    ("how far the head has turned (4 to 40 degrees)", ("head turn while turning",), "degrees", 1.0, 1),
    ("how far the hands fell behind the putter", ("hinge_change_deg",), "degrees", 1.0, 1),
    ("length of the backstroke", ("back_cm",), "cm", 1.0, 1),
    ("rhythm (backstroke to forward stroke)", ("tempo_ratio",), "", 1.0, 2),
)


@dataclass
class Row:
    """Errors of one measure over all strokes or frames; missing: times not seen though true."""

    unit: str
    errors: list[float] = field(default_factory=list)
    clips: list[str] = field(default_factory=list)
    missing: int = 0

    def add(self, clip: str, error: float | None) -> None:
        if error is None:
            self.missing += 1
        else:
            self.errors.append(error)
            self.clips.append(clip)


@dataclass
class Bench:
    """All that was found out."""

    rows: dict[str, Row] = field(default_factory=dict)
    hits: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    misses: list[str] = field(default_factory=list)
    alarms: list[str] = field(default_factory=list)
    too_close: list[str] = field(default_factory=list)
    disagree: list[str] = field(default_factory=list)
    wrong_count: list[str] = field(default_factory=list)
    strokes: int = 0
    clips: int = 0
    per_clip: list[str] = field(default_factory=list)
    pairs: dict[str, list[tuple[float, float]]] = field(default_factory=lambda: defaultdict(list))
    told: list[Told] = field(default_factory=list)

    def row(self, name: str, unit: str) -> Row:
        return self.rows.setdefault(name, Row(unit))

    def add(self, other: Bench) -> None:
        """Takes in what another clip gave."""
        for name, row in other.rows.items():
            mine = self.row(name, row.unit)
            mine.errors += row.errors
            mine.clips += row.clips
            mine.missing += row.missing
        for fault, count in other.hits.items():
            self.hits[fault] += count
        for name, values in other.pairs.items():
            self.pairs[name] += values
        self.misses += other.misses
        self.alarms += other.alarms
        self.too_close += other.too_close
        self.disagree += other.disagree
        self.wrong_count += other.wrong_count
        self.strokes += other.strokes
        self.clips += other.clips
        self.per_clip += other.per_clip
        self.told += other.told


def table(bench: Bench) -> str:
    """The whole as Markdown."""
    lines = [
        "| measure | bias | spread (SD) | RMSE | 95 % within | worst | not seen | n |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for name, row in sorted(bench.rows.items()):
        unit, k = UNITS[row.unit]
        if not row.errors:
            lines.append(f"| {name} | - | - | - | - | - | {row.missing} | 0 |")
            continue
        e = np.array(row.errors) * k
        digits = 0 if unit == "ms" else 2
        worst = int(np.argmax(np.abs(e)))
        cells = (e.mean(), e.std(), np.sqrt(np.mean(e**2)), np.percentile(np.abs(e), 95), e[worst])
        text = " | ".join(f"{v:.{digits}f}" for v in cells)
        share = row.missing / (row.missing + len(e))
        lines.append(f"| {name}{', ' + unit if unit else ''} | {text} | {share:.0%} | {len(e)} |")
    lines += ["", counts(bench)]
    for title, items in (
        ("Missed", bench.misses),
        ("False", bench.alarms),
        ("Too close to call", bench.too_close),
        ("Disagree", bench.disagree),
        ("Count or kind", bench.wrong_count),
    ):
        lines += [f"- {title}: {i}" for i in items]
    return "\n".join(lines) + "\n"


def counts(bench: Bench) -> str:
    """Strokes and faults in a sentence."""
    wanted = sum(bench.hits.values()) + len(bench.misses)
    return (
        f"{bench.clips} clips, {bench.strokes} face-on strokes. Faults {', '.join(JUDGED)}: {sum(bench.hits.values())} of "
        f"{wanted} found, {len(bench.alarms)} false; "
        f"{len(bench.too_close)} looks too close to call, left out. Live cue and verdict disagree on "
        f"{len(bench.disagree)} strokes; stroke count or kind wrong in {len(bench.wrong_count)} clips."
    )


def per_clip_table(bench: Bench) -> str:
    """Head turn by clip."""
    lines = ["| clip | head turn RMSE while turning, deg | worst at rest, deg | what it is |", "|---|---|---|---|"]
    return "\n".join(lines + bench.per_clip) + "\n"


def rmse_interval(row: Row, rng: np.random.Generator) -> tuple[float, float]:
    """95 % interval of the RMSE by drawing whole clips with replacement (Efron and Tibshirani 1993, from memory): frames and
    strokes of one clip share its person and its light."""
    by_clip: dict[str, list[float]] = defaultdict(list)
    for clip, error in zip(row.clips, row.errors):
        by_clip[clip].append(error * error)
    sums = np.array([(sum(v), len(v)) for v in by_clip.values()])
    drawn = sums[rng.integers(0, len(sums), (DRAWS, len(sums)))].sum(axis=1)
    low, high = np.percentile(np.sqrt(drawn[:, 0] / drawn[:, 1]), (2.5, 97.5))
    return float(low), float(high)


def player_table(bench: Bench) -> str:
    """Eight rows in a player's words."""
    lines = ["| what | typical error | largest | not seen |", "|---|---|---|---|"]
    rng = np.random.default_rng(5)
    for words, names, unit, k, digits in PLAYER_ROWS:
        row = Row("")
        for name, part in bench.rows.items():
            if name.startswith(names):
                row.errors += part.errors
                row.clips += part.clips
                row.missing += part.missing
        if not row.errors:
            lines.append(f"| {words} | - | - | 100% |")
            continue
        e = np.array(row.errors) * k
        low, high = (v * k for v in rmse_interval(row, rng))
        typical = f"{np.sqrt(np.mean(e**2)):.{digits}f} {unit} ({low:.{digits}f} to {high:.{digits}f})"
        largest = f"{np.max(np.abs(e)):.{digits}f} {unit}".rstrip()
        share = row.missing / (row.missing + len(e))
        lines.append(f"| {words} | {typical.replace('  ', ' ')} | {largest} | {share:.0%} |")
    return "\n".join([*lines, "", counts(bench)]) + "\n"


def publish(bench: Bench) -> None:
    """A player's rows between README's markers, the whole into accuracy.md."""
    path = ROOT / "README.md"
    before, rest = path.read_text().split(BEGIN)
    path.write_text(f"{before}{BEGIN}\n{player_table(bench)}{END}{rest.split(END)[1]}")
    WHOLE.write_text(
        "# Accuracy on the clips that no method was made with\n\n"
        "Made by `python -m tests.bench.accuracy FOLDER --set report --readme`; the clips are those of `report` in\n"
        "[tests/recipes/sets.toml](../recipes/sets.toml).\n"
        "Nothing was made or tuned with them but for three things. Their persons and kinds of hair and hats are learned by the\n"
        "nets for the head's turn since 0.2.0, so its rows are better than they are on others: how heads that were left out\n"
        "are read is told in [the study](../../trainer/vision/head/STUDY.md). And how far hands are steadied was chosen with\n"
        "five of these clips among sixteen. And balls that the net for a ball's diameter has learned lay in these rooms too,\n"
        "in other light.\n\n"
        f"{table(bench)}\n{per_clip_table(bench)}\n{confidence_table(bench.told)}"
    )


def plots(bench: Bench, folder: Path) -> None:
    """One strip of errors a measure."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    folder.mkdir(parents=True, exist_ok=True)
    rows = [(n, r) for n, r in sorted(bench.rows.items()) if r.errors]
    figure, axes = plt.subplots(len(rows), 1, figsize=(8, 0.55 * len(rows) + 1), layout="constrained")
    for axis, (name, row) in zip(np.atleast_1d(axes), rows):
        unit, k = UNITS[row.unit]
        e = np.array(row.errors) * k
        axis.plot(e, np.zeros_like(e), "|", color="#0072B2", markersize=10)
        axis.axvline(0, color="0.6", linewidth=0.8)
        axis.set_yticks([])
        axis.set_ylabel(f"{name}\n{unit}", rotation=0, ha="right", va="center", fontsize=6)
        axis.tick_params(labelsize=6)
    figure.savefig(folder / "accuracy.png", dpi=130)
    plt.close(figure)
