"""Where things of a page stand, and where keys lead among them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

TEXT = 21  # px at scale 1: the height of a line
LIKELY = ("large", "main")  # looks of buttons that are the usual way on
GRIP = 12  # half the width of what a slide is dragged by
FINGER = 12  # so near beside a thing it is met

Way = Literal["up", "down", "left", "right"]
Kind = Literal["button", "field", "option", "switch", "slide", "words", "head", "label", "table", "picture"]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing in its place, px of the page (scrolled) or of the window (fixed). lines: its words, wrapped."""

    kind: Kind
    box: Any
    lines: tuple[str, ...] = ()
    of: Any = None
    value: str = ""
    letters: float = TEXT
    soft: bool = False
    fixed: bool = False

    @property
    def pressable(self) -> bool:
        return self.kind in ("button", "field", "option", "switch", "slide")

    @property
    def group(self) -> str:
        """The choice that an option belongs to; else ""."""
        return self.of[0].name if self.kind == "option" else ""


@dataclass(frozen=True, slots=True)
class Layout:
    """top, bottom: of the part that scrolls; height: of all that is in it."""

    items: tuple[Item, ...]
    top: int
    bottom: int
    height: int
    scale: float

    def pressables(self) -> list[Item]:
        return [item for item in self.items if item.pressable]

    def place(self, item: Item, scroll: int) -> Any:
        """The item's box in the window."""
        return item.box if item.fixed else item.box.move(0, self.top - scroll)

    def stops(self, focus: int) -> list[int]:
        """Numbers of the pressables where the tabulator stops: of a choice the one in focus, else the chosen, else the first."""
        items = self.pressables()
        found: dict[str | int, int] = {}
        for number, item in enumerate(items):
            own = items[focus].group == item.group  # the focus itself is this choice's stop
            if (key := item.group or number) not in found or number == focus or (item.value and not own):
                found[key] = number
        return list(found.values())

    def tabbed(self, focus: int, by: int) -> int:
        """The next stop of the tabulator, or the one before; the last is followed by the first."""
        stops = self.stops(focus)
        return stops[(stops.index(focus) + by) % len(stops)] if focus in stops else focus

    def arrowed(self, focus: int, way: Way) -> tuple[int, bool]:
        """(where an arrow leads, whether that is chosen by it): inside a choice it is; another is come to at what is chosen."""
        items = self.pressables()
        if not items:
            return focus, False
        group, beside = items[focus].group, nearest(self, focus, way)
        if group and way in ("left", "right"):  # its rows go on one after the other
            beside = min(max(0, focus + (1 if way == "right" else -1)), len(items) - 1)
            return (beside, True) if items[beside].group == group else (focus, False)
        other = items[beside].group
        if other and other != group:
            beside = next((n for n, item in enumerate(items) if item.group == other and item.value), beside)
        return beside, bool(group) and other == group

    def axis(self, slide: Item, scroll: int) -> Any:
        """Of a slide: where its values lie, px of the window."""
        return self.place(slide, scroll).inflate(-2 * round(GRIP * self.scale), 0)

    def value_at(self, slide: Item, x_px: float) -> tuple[float, float]:
        """(the value there, how much a finger's width of it is)."""
        axis, (low, high) = self.axis(slide, 0), slide.of.span
        share = min(max((x_px - axis.left) / axis.width, 0.0), 1.0)
        return low + share * (high - low), (high - low) * FINGER * self.scale / axis.width

    def first_focus(self) -> int:
        """The first that is a field or the usual way on, else the first thing below the title."""
        items = self.pressables()
        likely = [n for n, i in enumerate(items) if i.kind == "field" or (i.kind == "button" and i.of.look in LIKELY)]
        others = [n for n, item in enumerate(items) if not item.fixed]
        return next(iter((*likely, *others)), 0)

    def field_called(self, label: str) -> int | None:
        """Number of the field with this label."""
        items = enumerate(self.pressables())
        return next((n for n, item in items if item.kind == "field" and item.of.label == label), None)

    def scrolled_to(self, item: Item, scroll: int) -> int:
        """The scroll, moved as little as shows the item."""
        if not item.fixed:
            scroll = min(scroll, max(0, item.box.top - round(40 * self.scale)))
            scroll = max(scroll, item.box.bottom + round(10 * self.scale) - (self.bottom - self.top))
        return min(max(0, scroll), self.most_scroll)

    @property
    def most_scroll(self) -> int:
        return max(0, self.height - (self.bottom - self.top))


def nearest(layout: Layout, focus: int, way: Way) -> int:
    """The pressable that lies next in that direction; the same one where there is none."""
    items = layout.pressables()
    if not items:
        return 0
    here = layout.place(items[focus], 0)
    best: tuple[float, int] | None = None
    for i, item in enumerate(items):
        box = layout.place(item, 0)
        dx, dy = box.centerx - here.centerx, box.centery - here.centery
        along, across = {"up": (-dy, dx), "down": (dy, dx), "left": (-dx, dy), "right": (dx, dy)}[way]
        if i == focus or along <= 2:
            continue
        if way in ("left", "right") and abs(across) > here.height:
            continue
        off = 0.0
        if way in (
            "up",
            "down",
        ):  # what lies beside counts only beyond both edges; of several that do not, the middle one
            off = max(0.0, box.left - here.right, here.left - box.right) + 0.01 * abs(dx)
        cost = along + 2.0 * off
        if best is None or cost < best[0]:
            best = (cost, i)
    return focus if best is None else best[1]
