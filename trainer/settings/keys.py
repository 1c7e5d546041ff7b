"""What a key of a settings or drill file may be: ranges, rules across keys, and each key in words for people."""

from __future__ import annotations

from dataclasses import dataclass
from types import UnionType
from typing import Annotated, Any, Iterable, Iterator, Literal, Union, get_args, get_origin

from annotated_types import Ge, GroupedMetadata, Le, MaxLen
from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from trainer.domain.units import unit_words
from trainer.texts import tr

STRICT = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)
RULE = "rule"  # pydantic's type of an error that a rule of our own raised; its context holds (key, what is wrong) pairs


@dataclass(frozen=True, slots=True)
class Within(GroupedMetadata):
    """A number's range, both ends allowed, and its unit."""

    low: float
    high: float
    unit: str = ""

    def __iter__(self) -> Iterator[object]:
        yield Ge(self.low)
        yield Le(self.high)

    @property
    def words(self) -> str:
        if not self.unit:
            return tr("from {low:g} to {high:g}", low=self.low, high=self.high)
        return tr("from {low:g} to {high:g} {unit}", low=self.low, high=self.high, unit=unit_words(self.unit))


def key_field(default: Any, note: str, kind: str = "", item: str = "", **more: Any) -> Any:
    """kind: what is allowed, in words, where the type does not tell it; item: what a list's entries are called."""
    return Field(default, description=note, json_schema_extra={"kind": kind, "item": item}, **more)


def rule_fault(*wrong: tuple[str, str]) -> PydanticCustomError:
    """The error of a rule across keys. wrong: (key of the table that the rule belongs to, what is wrong)."""
    context: dict[str, Any] = {"wrong": wrong}
    return PydanticCustomError(RULE, "values that do not go together", context)


@dataclass(frozen=True, slots=True)
class Key:
    """One documented entry. path: dotted; kind: what a value may be, in words, with range and unit; item: likewise of a
    list's entries, empty where the list is judged as a whole.
    """

    path: str
    kind: str
    default: Any
    note: str
    required: bool = False
    item: str = ""

    @property
    def name(self) -> str:
        return self.path.rpartition(".")[2]

    @property
    def table(self) -> str:
        return self.path.rpartition(".")[0]


def keys_of(model: type[BaseModel], table: str = "") -> Iterator[Key]:
    """Every key of a file's model, tables within tables too, in the order of the fields."""
    for name, info in model.model_fields.items():
        path = f"{table}.{info.alias or name}" if table else info.alias or name
        inner = [part for part in _parts(info.annotation) if isinstance(part, type) and issubclass(part, BaseModel)]
        if inner:
            yield from keys_of(inner[0], path)
        else:
            note = info.description or str(getattr(model, "note", ""))
            yield Key(path, _kind(path, info), info.default, note, info.is_required(), _item(info))


def range_of(info: FieldInfo) -> Within:
    """The range that a number's type gives it. Raises StopIteration where it gives none."""
    return next(_ranges_of(info))


def _ranges_of(info: FieldInfo) -> Iterator[Within]:
    return _ranges([*info.metadata, *_parts(info.annotation)])


def _parts(annotation: Any) -> tuple[Any, ...]:
    """The members of a union without None; of anything else the type itself."""
    if get_origin(annotation) in (Union, UnionType):
        return tuple(part for part in get_args(annotation) if part is not type(None))
    return (annotation,)


def _ranges(parts: Iterable[Any]) -> Iterator[Within]:
    for part in parts:
        if isinstance(part, Within):
            yield part
        elif get_origin(part) is Annotated:
            yield from _ranges(get_args(part)[1:])


def _words(info: FieldInfo, what: str) -> str:
    extra = info.json_schema_extra
    told = extra.get(what, "") if isinstance(extra, dict) else ""
    return told if isinstance(told, str) else ""


def _kind(path: str, info: FieldInfo) -> str:
    if told := _words(info, "kind"):
        return told
    types = [get_args(part)[0] if get_origin(part) is Annotated else part for part in _parts(info.annotation)]
    if get_origin(types[0]) is Literal:
        return tr("one of {listed}", listed=", ".join(f'"{one}"' for one in get_args(types[0])))
    if within := next(_ranges_of(info), None):
        number = tr("a whole number {range}") if types == [int] else tr("a number {range}")
        return number.format(range=within.words)
    if types == [bool]:
        return tr("true or false")
    longest = next((m.max_length for m in info.metadata if isinstance(m, MaxLen)), None)
    bare = len(info.metadata) == (longest is not None)
    if types == [str] and bare:
        return tr("a text") if longest is None else tr("a text of up to {longest} letters", longest=longest)
    if types == [int, str] and bare:
        return tr("a whole number or a text")
    raise TypeError(f"{path}: say in words what is allowed (kind=...)")


def _item(info: FieldInfo) -> str:
    """What each entry of a list must be; empty: not a list of numbers."""
    within = next(_ranges(get_args(info.annotation)), None) if get_origin(info.annotation) is list else None
    if not within:
        return ""
    return tr("every {entry} must be {range}", entry=_words(info, "item") or tr("entry"), range=within.words)
