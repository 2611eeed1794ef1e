"""Blanks of a sample of its own: forged and spun, and made with another one's tools. Invented; no real part.

Outline and ring of the spun one are those that `blankwright blank --spun` found for the 19 x 12 J wheel
with 4 mm of stock and 10 mm to chuck on, their numbers rounded to 0.1 mm.
"""

from __future__ import annotations

from dataclasses import replace

from app.project import demo
from geometry.shape.blank import Blank, BlankState, Cause, SpunFrom, Supply, Tolerance
from geometry.shape.outline import Corner

BLANK_S19, BLANK_A18_LONG = "S19", "A18 long"

#: z,r or z,r,bulge. Disc and outer lip lie between the dies, as forged and as spun.
_FRONT = """
    43.5,0 43.5,33.2,-0.0535 43.9,36.4,0.0535 44,37.6 44,67.1,-0.1268 45.9,74.4 60.9,101.6,-0.0279
    61.8,103.1 71.8,117.2,0.1107 75.2,125.2 81.1,158.3,0.0329 81.3,160.9 82.3,183.1,-0.0457 82.7,185.8
    91.1,222.3,-0.3249 104.4,233.9 110.7,234.4,0.1876 115.5,236.8,0.1808 117.5,241.7,-0.209
    122.6,252.6,0.2158 124.5,256.8 124.5,259.8,0.3292 121,264.6,0.0704 117.2,265.2 117,265.2
    116.8,265.2,0.0514 114,264.9,-0.0514 111,264.5
"""
_BACK = """
    50.6,199.7,0.0242 50.5,197.6 50.2,136.2,-0.1347 48.1,128.6 42,118.5,-0.0735 39.2,115.1 -2.2,77.4,0.1045
    -3.5,75.6,0.1045 -4,73.3 -4,37.6,0.0535 -3.9,36.4,-0.0535 -3.5,33.2 -3.5,0
"""
_BARREL = """
    44.8,263.3 18.9,248.4,-0.1991 11.3,247.4 10.3,247.6 -23.8,245,-0.0205 -24.6,244.9 -161.7,245.5,-0.0054
    -161.9,245.5,-0.1251 -169.4,247.6,-0.033 -170.5,248.2 -170.8,248.3 -172.4,248.4,-0.1128 -176.6,249.8
    -200.2,263.4,0.1317 -207,265.2,0.021 -208.1,265.2,-0.0484 -210.1,265.2,0.0273 -210.5,265.2
    -220.5,265.2,0.1248 -222.4,264.7,-0.0566 -224.5,263.9 -224.5,237.3 -222.5,236.1,0.1272 -220.6,235.6
    -206.5,235.3,-0.0664 -202.6,234.8,0.0489 -201.2,234.5 -176.8,232.4 -173.9,232.1,-0.0945
    -168.5,230.6,0.1122 -161.7,228.9 7.8,225.9,-0.0831 12.7,225 35.3,216.8,0.0427 38.3,216,-0.3916
"""
_RING = "-123.2,260.4 -123.2,230.6 7.9,226,-0.0787 12.5,225.1 35.3,216.8,0.0384 38,216,-0.3976"

_MEASURED = f"Least and greatest of 20 pieces. {demo.INVENTED}"


def _corners(rows: str) -> tuple[Corner, ...]:
    """Read corners written as 'z,r' or 'z,r,bulge', parted by blanks."""
    found = []
    for row in rows.split():
        z, r, *bulge = (float(x) for x in row.split(","))
        found.append(Corner(z, r, bulge=bulge[0] if bulge else 0.0))
    return tuple(found)


def blank_s19() -> Blank:
    """Return the spun blank of the 19 x 12 J wheel, with what its pieces were measured to differ by."""
    return Blank(
        BLANK_S19,
        _corners(_FRONT + _BARREL + _BACK),
        Supply.SPUN,
        BlankState.PROVED,
        source=f"Forged and spun, drawn as spun and trimmed. {demo.INVENTED}",
        parting_mm=117.0,
        tolerances=(
            Tolerance(Cause.ROUND, 1.0, 0.0, _MEASURED),
            Tolerance(Cause.FLAT, 0.5, 0.0, _MEASURED),
            Tolerance(Cause.DENTS, 0.5, 0.0, _MEASURED),
            Tolerance(Cause.CENTRING, 0.5, 0.0, _MEASURED),
            Tolerance(Cause.CLOSURE, 0.0, 1.5, _MEASURED),
        ),
        spun=SpunFrom(
            _corners(_FRONT + _RING + _BACK),
            mandrel_price=18000.0,
            reduction=0.494,
            passes=2,
            wall_mm=16.5,
            trim_mm=10.0,
            source=f"Reduction of 50 % at most, 30 % a pass. {demo.INVENTED}",
        ),
    )


def tooled_a18() -> Blank:
    """Return the own 18-inch blank with what its tools can make beside it."""
    return replace(demo.with_dies(demo.blank_a18()), holder=None, die_cost=None, die_shared_by=None)


def blank_a18_long() -> Blank:
    """Return the same with a ring 6 mm longer: its bore and outside go on as they are drafted."""
    own = tooled_a18()
    ends = {224.4: 224.9, 251.6: 251.55}
    corners = tuple(
        replace(c, z=c.z - 6.0, r=ends[c.r]) if c.z == min(each.z for each in own.corners) else c
        for c in own.corners
    )
    return replace(
        own,
        name=BLANK_A18_LONG,
        corners=corners,
        state=BlankState.IDEA,
        source=f"Drawn from the own forging, its ring 6 mm longer. {demo.INVENTED}",
        variant_of=own.name,
        tools=None,
    )
