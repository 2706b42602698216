"""Dew points of humid air by a general psychrometric library (the ASHRAE handbook's formulas), as an outside check."""

import json
import pathlib
from importlib.metadata import version

import psychrolib

psychrolib.SetUnitSystem(psychrolib.SI)
cases = [
    {"room_c": room, "rh_percent": rh, "dew_point_c": psychrolib.GetTDewPointFromRelHum(float(room), rh / 100)}
    for room in (5, 10, 15, 20, 25, 30, 40, 50)
    for rh in (20, 40, 50, 60, 75, 90, 99, 100)
]
# Below freezing the library gives the frost point, which is another thing.
cases = [case for case in cases if case["dew_point_c"] > 0.1]
out = {"made_by": "tests/reference/dewpoint/dewpoint.py", "psychrolib": version("psychrolib"), "cases": cases}
pathlib.Path(__file__).with_name("dewpoint.json").write_text(json.dumps(out, indent=1) + "\n")
