"""Cars on the drawing board, for its tests."""

from __future__ import annotations

from functools import cache

import numpy as np
import shapely

from bodyshop.app.bench.drawing import Handle
from bodyshop.app.bench.drawing.handles import find_handles
from bodyshop.car.editing.numbers import Numbers
from bodyshop.foundation.toml import Source, parse_source
from bodyshop.rules.checking import Checked, RulebookCache, check_car, open_source
from tests.app.benching import SAMPLES

NAMES = tuple(sorted(path.stem for path in SAMPLES.glob("*.toml")))


@cache
def shelf() -> RulebookCache:
    return RulebookCache()


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
    places = shapely.get_coordinates(line.interpolate(np.arange(count) / count, normalized=True))
    points = ",\n".join(f"  [{x:.3f}, {z:.3f}]" for x, z in places)
    text = design.source.text
    head, plan = text[: text.index("[profile]")], text[text.index("[plan]") :]
    return f"{head}[profile]\npoints = [\n{points},\n]\n\n{plan}"
