"""Two methods for the same thing compared (Bland and Altman 1986, Lancet 327, 307-310), and what confidence is worth."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Mapping, Sequence

import numpy as np

from trainer.coaching.progress.proportions import wilson
from trainer.domain.measures import MEASURES
from trainer.domain.record import Measure

HIGH = 0.8


@dataclass(frozen=True)
class Agreement:
    """One method less the other: mean difference and 95 % limits of agreement (mean +- 1.96 standard deviations)."""

    n: int
    bias: float
    sd: float

    @property
    def low(self) -> float:
        return self.bias - 1.96 * self.sd

    @property
    def high(self) -> float:
        return self.bias + 1.96 * self.sd


def agreement(pairs: Sequence[tuple[float, float]]) -> Agreement:
    """Of (one, other) values."""
    d = np.array([a - b for a, b in pairs])
    return Agreement(len(d), float(d.mean()), float(d.std(ddof=1)) if len(d) > 1 else 0.0)


def agreement_table(pairs: Mapping[str, Sequence[tuple[float, float]]], units: Mapping[str, tuple[str, float]]) -> str:
    """Markdown. units: name -> (unit, factor)."""
    lines = ["| one less the other | bias | 95 % limits of agreement | n |", "|---|---|---|---|"]
    for name, values in pairs.items():
        if len(values) < 2:
            continue
        unit, k = units.get(name, ("", 1.0))
        a = agreement([(x * k, y * k) for x, y in values])
        lines.append(f"| {name}, {unit} | {a.bias:.1f} | {a.low:.1f} to {a.high:.1f} | {a.n} |")
    return "\n".join(lines) + "\n"


def agreement_plot(pairs: Mapping[str, Sequence[tuple[float, float]]], path: Path) -> None:
    """Difference over mean, one panel a pair of methods."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    shown = {n: np.array(v) for n, v in pairs.items() if len(v) >= 2}
    if not shown:
        return
    figure, axes = plt.subplots(1, len(shown), figsize=(2.6 * len(shown), 2.6), layout="constrained", squeeze=False)
    for axis, (name, v) in zip(axes[0], shown.items()):
        a = agreement([(float(x), float(y)) for x, y in v])
        axis.plot(v.mean(axis=1), v[:, 0] - v[:, 1], "o", color="#0072B2", markersize=3)
        for level, style in ((a.bias, "-"), (a.low, "--"), (a.high, "--")):
            axis.axhline(level, color="0.5", linewidth=0.8, linestyle=style)
        axis.set_title(name, fontsize=6)
        axis.tick_params(labelsize=6)
    figure.savefig(path, dpi=110)
    plt.close(figure)


@dataclass(frozen=True)
class Told:
    """One measure of one stroke: its error in tolerances (``sureness``), and how sure it said it was."""

    measure: str
    error: float
    confidence: float


def told(name: str, measure: Measure, true: float | None) -> Told | None:
    """None for what has no truth, no value or no tolerance."""
    spec = MEASURES.get(name)
    if true is None or measure.value is None or spec is None or spec.tolerance is None:
        return None
    wanted = spec.wanted(measure.value)
    return Told(name, (measure.value - true) / wanted, measure.confidence)


def rms(values: Sequence[float]) -> float:
    """Root mean square; NaN of nothing."""
    return float(np.sqrt(np.mean(np.square(values)))) if len(values) else float("nan")


def confidence_table(seen: Sequence[Told]) -> str:
    """Markdown: are the sure measures right, measure by measure; errors in tolerances; the same by steps of confidence."""
    lines = [
        "| measure | confidence over 0.8: within the tolerance (95 %) | error (RMS, tolerances) | n | the rest: error | n |",
        "|---|---|---|---|---|---|",
    ]
    for name in ("all", *sorted({t.measure for t in seen})):
        mine = [t for t in seen if name in ("all", t.measure)]
        high, rest = [t.error for t in mine if t.confidence > HIGH], [t.error for t in mine if t.confidence <= HIGH]
        inside = sum(abs(e) < 1 for e in high)
        low, top = wilson(inside, len(high)) if high else (0.0, 1.0)
        share = f"{inside / len(high):.0%} ({low:.0%} to {top:.0%})" if high else "-"
        lines.append(f"| {name} | {share} | {rms(high):.2f} | {len(high)} | {rms(rest):.2f} | {len(rest)} |")
    lines += ["", "| confidence | error (RMS, tolerances) | within the tolerance | n |", "|---|---|---|---|"]
    for low, top in ((0.0, 0.35), (0.35, 0.5), (0.5, 0.65), (0.65, 0.8), (0.8, 0.9), (0.9, 1.01)):
        mine = [t for t in seen if low < t.confidence <= top]
        if mine:
            inside = np.mean([abs(t.error) < 1 for t in mine])
            lines.append(
                f"| {low:g} to {min(top, 1):g} | {rms([t.error for t in mine]):.2f} | {inside:.0%} | {len(mine)} |"
            )
    return "\n".join(lines) + "\n"
