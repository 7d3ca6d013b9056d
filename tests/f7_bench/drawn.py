"""Cars on the drawing board, for its tests."""

from __future__ import annotations

from functools import cache

import numpy as np
import shapely

from bodyshop.bench.drawing import Handle
from bodyshop.bench.drawing.handles import find_handles
from bodyshop.bench.drawing.numbers import Numbers
from bodyshop.checking import Bookshelf, Checked, check_car, open_source
from bodyshop.source import Source, parse_source
from tests.f7_bench.benching import SAMPLES

NAMES = tuple(sorted(path.stem for path in SAMPLES.glob("*.toml")))


@cache
def shelf() -> Bookshelf:
    return Bookshelf()


@cache
def sample(name: str) -> Checked:
    """A shipped sample, judged once for all tests."""
    return judged((SAMPLES / f"{name}.toml").read_text(encoding="utf-8"), name)


def judged(text: str, name: str = "car") -> Checked:
    """What a text comes to."""
    return check_car(open_source(parse_source(text, f"{name}.toml"), shelf()))


def source_of(checked: Checked) -> Source:
    return checked.opened.source


def handles(checked: Checked) -> dict[str, Handle]:
    """All handles by their names."""
    found = find_handles(checked.opened, Numbers(checked.opened.source))
    return {handle.id: handle for handle in found}


def many_points(count: int) -> str:
    """Kestrel's text with its profile as so many points on the same line."""
    design = sample("kestrel").opened.design
    line = design.profile.outer_line
    spots = shapely.get_coordinates(line.interpolate(np.arange(count) / count, normalized=True))
    points = ",\n".join(f"  [{x:.3f}, {z:.3f}]" for x, z in spots)
    text = design.source.text
    head, plan = text[: text.index("[profile]")], text[text.index("[plan]") :]
    return f"{head}[profile]\npoints = [\n{points},\n]\n\n{plan}"
