"""matplotlib figures as inline SVG that follows the page: its colours light and dark, its letters, its reader's voice."""

from __future__ import annotations

import io
import re
from html import escape
from typing import Any

from trainer.texts import shown, spoken

# Stand-in colours, replaced in the SVG by the page's own: one chart for light, dark and print.
INK, SOFT, PANEL, LINE, GOOD, BAD, BAND = "#010101", "#020202", "#030303", "#040404", "#050505", "#060606", "#070707"
_NAMES = {INK: "ink", SOFT: "soft", PANEL: "panel", LINE: "line", GOOD: "good", BAD: "bad", BAND: "band"}

_STYLE: Any = {
    "svg.fonttype": "none",
    "font.family": "sans-serif",
    "font.size": 10,
    "text.color": INK,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": SOFT,
    "axes.facecolor": "none",
    "figure.facecolor": "none",
    "savefig.facecolor": "none",
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "lines.solid_capstyle": "round",
}


def numbers() -> Any:
    """Of an axis, as the reader's language writes them."""
    from matplotlib.ticker import ScalarFormatter

    class Told(ScalarFormatter):
        def __call__(self, x: float, pos: int | None = None) -> str:
            return spoken().number(super().__call__(x, pos))

    return Told()


class Drawing:
    """A figure under way. size: inches, at 72 a unit. Use ``axes``; then ``svg``."""

    def __init__(self, width: float, height: float) -> None:
        from matplotlib import rc_context
        from matplotlib.figure import Figure

        self._style = rc_context(_STYLE)
        self._style.__enter__()
        try:
            self.figure: Any = Figure(figsize=(width, height), layout="constrained")
            self.axes: Any = self.figure.add_subplot()
            self.axes.xaxis.set_major_formatter(numbers())
            self.axes.yaxis.set_major_formatter(numbers())
        except BaseException:
            self._style.__exit__(None, None, None)
            raise

    def svg(self, key: str, title: str) -> str:
        """The <svg> element. key: unique on the page; title: what a screen reader says instead of it."""
        import matplotlib as mpl

        out = io.StringIO()
        try:
            with mpl.rc_context({"svg.hashsalt": key}):
                self.figure.savefig(
                    out, format="svg", metadata={"Date": None, "Creator": None, "Type": None, "Format": None}
                )
        finally:
            self._style.__exit__(None, None, None)
        return inline(out.getvalue(), key, title)


def inline(text: str, key: str, title: str) -> str:
    """An SVG file's text as an element of a page, ids made its own, colours made the page's."""
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    for stand_in, name in _NAMES.items():
        text = text.replace(stand_in, f"var(--{name})")
    text = re.sub(r'\bid="', f'id="{key}-', text)
    text = text.replace("url(#", f"url(#{key}-").replace('xlink:href="#', f'xlink:href="#{key}-')
    text = re.sub(r"font: ([0-9.]+px) [^;\"]*", r"font-size: \1; font-family: inherit", text)
    head = f'<svg role="img" aria-labelledby="{key}-title" '
    text = re.sub(r'<svg height="[^"]*"', "<svg", text)
    text = re.sub(r"^<svg\s", head, text, count=1)
    text = re.sub(r'\swidth="[0-9.]+pt"', "", text, count=1)
    end = text.index(">") + 1
    return text[:end] + f'<title id="{key}-title">{escape(shown(title))}</title>' + text[end:]
