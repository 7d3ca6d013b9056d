"""Free space: the first place that nothing is drawn in, else the one that touches least."""

from __future__ import annotations

import shapely

from bodyshop.drawing.layout.free_space import FreeSpace, clearest

INK = [shapely.box(0, 0, 10, 10), shapely.box(5, 5, 12, 12)]


def test_the_first_free_place_is_taken_and_kept_free() -> None:
    free = FreeSpace(ink=INK)
    places = [
        shapely.box(6, 6, 8, 8),
        shapely.box(20, 0, 22, 2),
        shapely.box(21, 0, 23, 2),
        shapely.box(30, 0, 31, 1),
    ]
    assert free.pick(places) == 1
    # The next one keeps off it.
    assert free.pick(places) == 3


def test_where_none_is_free_the_one_that_touches_least_is_taken() -> None:
    assert FreeSpace(ink=INK).pick([shapely.box(6, 6, 8, 8), shapely.box(1, 1, 2, 2)]) == 1
    assert FreeSpace(ink=INK).pick([shapely.box(1, 1, 2, 2), shapely.box(3, 3, 4, 4)]) == 0


def test_the_clearest_is_the_nearest_of_those_that_are_far_enough() -> None:
    ink = shapely.Point(0, 0)
    candidates = [(x, [(x, 0.0)]) for x in (1.0, 4.0, 6.0)]
    assert clearest(candidates, ink, wanted=0.0, enough_mm=3.0) == 4.0
    assert clearest(candidates, ink, wanted=6.0, enough_mm=3.0) == 6.0
    assert clearest(candidates, ink, wanted=0.0, enough_mm=9.0) == 6.0
