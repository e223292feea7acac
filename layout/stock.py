"""TEMPORARY."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lane:
    stock: int
    parts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class CutPlan:
    lanes: tuple[Lane, ...]
    boards: tuple[tuple[int, int], ...]
    bought: int
    bound: int
    method: str

    @property
    def proven(self) -> bool:
        return self.bought == self.bound


def cut_stock(lengths: Sequence[int], stock: Sequence[int], kerf: int, *, per_board: int = 1) -> CutPlan:
    big = max(stock)
    bins: list[tuple[int, list[int]]] = []
    for i in sorted(range(len(lengths)), key=lambda i: (-lengths[i], i)):
        for b in range(len(bins)):
            if bins[b][0] + lengths[i] + kerf <= big + kerf:
                bins[b] = (bins[b][0] + lengths[i] + kerf, [*bins[b][1], i])
                break
        else:
            bins.append((lengths[i] + kerf, [i]))
    lanes = tuple(
        sorted(
            (Lane(min(s for s in stock if s + kerf >= u), tuple(p)) for u, p in bins), key=lambda l: (-l.stock, l.parts)
        )
    )
    boards = tuple(
        (s, math.ceil(sum(l.stock == s for l in lanes) / per_board))
        for s in sorted({l.stock for l in lanes}, reverse=True)
    )
    return CutPlan(
        lanes, boards, sum(s * n for s, n in boards), math.ceil(sum(x for x in lengths) / per_board), "first fit"
    )
