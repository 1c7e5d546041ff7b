"""A LiteRT model cut down to the outputs that are used: what only the others needed is left out, all else stays as it is."""

from __future__ import annotations

from typing import Any, Sequence

NONE = -1  # in place of a tensor that an operator may do without


def cut(content: bytes, outputs: Sequence[int]) -> bytes:
    """outputs: places of those that are kept, in that order."""
    import flatbuffers
    from ai_edge_litert import schema_py_generated as schema

    model: Any = schema.ModelT.InitFromObj(schema.Model.GetRootAs(content, 0))
    (graph,) = model.subgraphs
    graph.outputs = [graph.outputs[place] for place in outputs]
    graph.operators = _needed(graph)
    ends = [*graph.inputs, *graph.outputs]
    tensors = _numbered([*ends, *(t for op in graph.operators for t in (*op.inputs, *op.outputs) if t != NONE)])
    for op in graph.operators:
        op.inputs = [tensors.get(t, NONE) for t in op.inputs]
        op.outputs = [tensors[t] for t in op.outputs]
    graph.inputs, graph.outputs = ([tensors[t] for t in side] for side in (graph.inputs, graph.outputs))
    graph.tensors = [graph.tensors[t] for t in tensors]
    holders = [*graph.tensors, *(model.metadata or ())]
    buffers = _numbered([0, *(holder.buffer for holder in holders)])  # the first is the empty one
    for holder in holders:
        holder.buffer = buffers[holder.buffer]
    model.buffers = [model.buffers[b] for b in buffers]
    model.metadataBuffer = None
    builder = flatbuffers.Builder(len(content))
    builder.Finish(model.Pack(builder), b"TFL3")
    return bytes(builder.Output())


def _needed(graph: Any) -> list[Any]:
    """Operators that the outputs come from, in their order."""
    makers = {t: place for place, op in enumerate(graph.operators) for t in op.outputs}
    needed: set[int] = set()
    open_ends = list(graph.outputs)
    while open_ends:
        place = makers.get(open_ends.pop())
        if place is not None and place not in needed:
            needed.add(place)
            open_ends.extend(graph.operators[place].inputs)
    return [op for place, op in enumerate(graph.operators) if place in needed]


def _numbered(old: Sequence[int]) -> dict[int, int]:
    """Old number -> new one, in the old order."""
    return {number: place for place, number in enumerate(sorted(set(old)))}
