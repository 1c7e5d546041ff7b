"""What an error tells a user is marked for translation where it is made: no plain English reaches a ``TrainerError``."""

from __future__ import annotations

import ast
import re
from collections import ChainMap
from typing import Iterable, Iterator, Mapping

from tests.support.paths import ROOT
from trainer import errors
from trainer.languages import has_words

KINDS = {
    name for name, kind in vars(errors).items() if isinstance(kind, type) and issubclass(kind, errors.TrainerError)
}
OPTIONS = re.compile(r"--[\w-]+(, --[\w-]+)*")
MARKS = {"tr", "tr_of", "tr_count"}
# File -> texts in it that stay English, and why.
EXCEPTIONS = {
    "trainer/vision/sources/phone/source.py": {"pip install 'putting-trainer[phone]'"},  # typed as it stands
}


def test_no_error_is_told_in_plain_english() -> None:
    found = {}
    modules = {path: ast.parse(path.read_text(encoding="utf-8")) for path in sorted((ROOT / "trainer").rglob("*.py"))}
    constants = {name: value for tree in modules.values() for name, value in named_values(tree.body)}
    for path, tree in modules.items():
        name = path.relative_to(ROOT).as_posix()
        plain = set(plain_texts(tree, constants)) - EXCEPTIONS.get(name, set())
        if plain:
            found[name] = sorted(plain)
    assert found == {}


def test_plain_english_is_found_however_it_is_handed_in() -> None:
    source = """
TODO = "go and look"
def f(x, y):
    why = f"frame {x} is lost" if x else tr("all is well")
    raise ClipError(why, str(y), TODO)
def g(x):
    raise UsageError("no such " + x, "--by", tr("give it"))
"""
    tree = ast.parse(source)
    assert sorted(set(plain_texts(tree, dict(named_values(tree.body))))) == [
        "frame ... is lost",
        "go and look",
        "no such ",
    ]


def named_values(body: Iterable[ast.AST]) -> Iterator[tuple[str, ast.expr]]:
    """Name -> value of the assignments among these statements."""
    for node in body:
        if isinstance(node, ast.Assign):
            yield from ((one.id, node.value) for one in node.targets if isinstance(one, ast.Name))


def plain_texts(tree: ast.Module, constants: dict[str, ast.expr]) -> Iterator[str]:
    """The unmarked words in what errors of a module are made from. constants: values of names outside of functions."""
    for function in (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)):
        inside = list(ast.walk(function))
        names = ChainMap(dict(named_values(inside)), constants)
        for call in inside:
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in KINDS:
                for argument in (*call.args, *(word.value for word in call.keywords)):
                    yield from words_in(argument, names)


def words_in(node: ast.expr, names: Mapping[str, ast.expr]) -> Iterator[str]:
    """Unmarked texts of several words."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        if " " in node.value and has_words(node.value) and not OPTIONS.fullmatch(node.value):
            yield node.value
    elif isinstance(node, ast.JoinedStr):
        text = "".join(str(part.value) if isinstance(part, ast.Constant) else "..." for part in node.values)
        if " " in text and has_words(text.replace("...", "")):
            yield text
    elif isinstance(node, ast.Name) and node.id in names:
        yield from words_in(names[node.id], {})
    elif isinstance(node, ast.IfExp):
        yield from words_in(node.body, names)
        yield from words_in(node.orelse, names)
    elif isinstance(node, ast.BinOp):
        yield from words_in(node.left, names)
        yield from words_in(node.right, names)
    elif isinstance(node, ast.Call) and not (isinstance(node.func, ast.Name) and node.func.id in MARKS):
        for argument in node.args:
            yield from words_in(argument, names)
