"""An invented maker's roadmap: 36 fitments over eight years. No real car, brake, wheel, blank or firm."""

from __future__ import annotations

from dataclasses import replace

from app.project import demo
from app.project.programme import Holder, Programme
from app.project.project import Compromise, Fitment
from app.project.wheel import Wheel
from app.project.wheel_edits import with_diameter, with_spokes_fixed_to
from geometry.shape.blank import Blank, BlankState, Supply
from geometry.shape.outline import Corner, StayOut

TRACK, CLUB, GT = "Track 18", "Club 17", "GT 19"
BRAKE_345, BRAKE_316 = "Brake 345 x 30", "Brake 316 x 28"
BLANK_B17, BLANK_K18, BLANK_D19 = "B17", "K18", "D19"
HOLDER_18 = demo.HOLDER_18
_BRAKES = {316: BRAKE_316, 345: BRAKE_345, 380: demo.BRAKE_380, 410: demo.BRAKE_410}


def shapes() -> tuple[StayOut, ...]:
    """Return four front calipers, from a 316 to a 410 disc."""
    small = "-70,104 -70,148 -62,168 -44,174 -20,174.5 14,174 28,168 33,158 34.5,140 34,120 28,110 12,104"
    middle = "-66,112 -66,150 -61,176 -48,185 -26,186 16,186 30,182.5 36,174 38,160 38,128 33,118 16,112"
    return (
        demo.caliper(BRAKE_316, small, "316 x 28"),
        demo.caliper(BRAKE_345, middle, "345 x 30"),
        demo.brake_380(),
        demo.brake_410(),
    )


def wheels() -> tuple[Wheel, ...]:
    """Return the three designs that the fitments are cut from, their spokes fixed to the hub."""
    track = replace(demo.track_18(), blank=None)
    club = replace(
        with_diameter(track, 17.0), name=CLUB, clears=(BRAKE_345,), tyre="235/40R17", load_kg=560.0
    )
    gt = replace(demo.gt_19(), clears=(demo.BRAKE_380,))
    return tuple(with_spokes_fixed_to(wheel, "hub") for wheel in (track, club, gt))


#: Blank and machining take about so much of a wheel's contribution; the rows say what is left.
_BESIDE = 480.0

#: design; cars; rows of width, insets, brake, must, certainty, years, volumes, what is left to earn.
_Row = tuple[float, float, float, int, bool, float, int, int, tuple[int, int, int], float]
_CARS: tuple[tuple[str, str, str, tuple[_Row, ...]], ...] = (
    (
        CLUB,
        "club",
        "hatch",
        (
            (8.0, 40, 40, 316, True, 0.95, 2027, 2034, (120, 200, 260), 140),
            (8.0, 38, 42, 345, True, 0.9, 2027, 2033, (60, 110, 150), 150),
            (7.5, 40, 45, 316, False, 0.9, 2027, 2031, (80, 140, 180), 120),
            (8.0, 35, 45, 316, False, 0.7, 2028, 2034, (60, 120, 160), 135),
            (8.5, 38, 42, 345, False, 0.6, 2028, 2034, (40, 80, 120), 160),
            (9.0, 38, 38, 345, False, 0.6, 2028, 2033, (30, 60, 100), 175),
            (7.5, 45, 45, 316, False, 0.8, 2027, 2030, (50, 90, 120), 110),
            (8.5, 35, 40, 316, False, 0.5, 2029, 2034, (20, 60, 110), 150),
            (9.0, 30, 38, 345, False, 0.4, 2029, 2034, (20, 50, 90), 180),
        ),
    ),
    (
        TRACK,
        "track",
        "coupe",
        (
            (10.0, 38, 38, 380, True, 0.9, 2027, 2032, (60, 140, 220), 310),
            (10.0, 32, 42, 380, True, 0.8, 2028, 2034, (40, 120, 200), 330),
            (9.5, 35, 35, 380, True, 0.9, 2027, 2033, (80, 160, 220), 280),
            (9.5, 35, 45, 345, False, 0.7, 2028, 2034, (60, 120, 180), 270),
            (9.0, 35, 45, 345, True, 0.95, 2027, 2034, (120, 220, 300), 220),
            (9.0, 40, 45, 316, False, 0.8, 2027, 2032, (60, 120, 160), 210),
            (8.5, 35, 45, 345, False, 0.8, 2027, 2033, (90, 160, 220), 200),
            (8.5, 40, 40, 316, False, 0.9, 2027, 2030, (70, 120, 150), 190),
            (9.0, 30, 40, 380, False, 0.6, 2028, 2034, (40, 90, 140), 240),
            (9.5, 30, 42, 380, False, 0.6, 2028, 2034, (40, 100, 160), 290),
            (10.0, 30, 45, 380, False, 0.5, 2029, 2034, (30, 90, 160), 340),
            (10.5, 35, 40, 380, False, 0.4, 2029, 2034, (10, 50, 110), 380),
            (9.0, 45, 45, 345, False, 0.7, 2028, 2032, (40, 80, 110), 205),
            (9.5, 38, 38, 316, False, 0.5, 2030, 2034, (20, 60, 100), 260),
            (8.5, 30, 35, 345, False, 0.5, 2029, 2034, (30, 70, 110), 215),
            (10.0, 40, 45, 345, False, 0.6, 2028, 2033, (30, 80, 120), 300),
        ),
    ),
    (
        GT,
        "gran turismo",
        "saloon",
        (
            (9.5, 25, 28, 380, True, 0.9, 2027, 2034, (70, 130, 180), 320),
            (9.5, 22, 28, 345, False, 0.8, 2027, 2033, (60, 110, 150), 300),
            (10.0, 25, 32, 380, False, 0.7, 2028, 2034, (40, 100, 160), 350),
            (10.5, 30, 36, 380, False, 0.6, 2028, 2034, (30, 80, 140), 370),
            (9.0, 22, 24, 345, False, 0.8, 2027, 2031, (50, 90, 120), 280),
            (11.0, 36, 44, 380, False, 0.5, 2029, 2034, (20, 60, 120), 420),
            (10.0, 22, 30, 345, False, 0.5, 2029, 2034, (20, 70, 120), 340),
            (12.0, 46, 48, 380, False, 0.4, 2029, 2034, (10, 40, 80), 480),
            (11.0, 40, 40, 410, False, 0.4, 2030, 2034, (10, 40, 80), 450),
            (9.5, 25, 25, 316, False, 0.6, 2027, 2029, (40, 80, 100), 290),
        ),
    ),
)
#: Rows of which something is not known, and what still would sell in their place.
_NO_BRAKE, _NO_VOLUME = "R-36", "R-24"
_COMPROMISES = {
    "R-21": Compromise("half an inch narrower", 10.0, share=0.6, contribution=800.0),
    "R-31": Compromise(
        "half an inch narrower", 10.5, inset_low_mm=32.0, inset_high_mm=36.0, share=0.5, contribution=830.0
    ),
}


def fitments() -> tuple[Fitment, ...]:
    """Return the 36 rows, numbered; one brake is not known yet, and one volume."""
    found: list[Fitment] = []
    for wheel, car_class, car, rows in _CARS:
        for row in rows:
            width, low, high, brake, must, certainty, first, last, volumes, contribution = row
            number = len(found) + 1
            name = f"R-{number:02d}"
            found.append(
                Fitment(
                    name,
                    customer=f"Customer {1 + number % 7} (invented)",
                    car=f"invented {car} {1 + number % 5}",
                    car_class=car_class,
                    axle="front" if number % 2 else "rear",
                    use="track" if wheel == TRACK else "road",
                    diameter_code={CLUB: 17.0, TRACK: 18.0, GT: 19.0}[wheel],
                    width_code=width,
                    inset_low_mm=float(low),
                    inset_high_mm=float(high),
                    tyre=_tyre(wheel, width),
                    load_kg={CLUB: 560.0, TRACK: 690.0, GT: 750.0}[wheel],
                    bolt_count=5,
                    bolt_circle_mm=120.0,
                    bore_mm=72.0,
                    shape=_BRAKES[brake],
                    rules=demo.ROAD_RULES,
                    wheel=wheel,
                    must=must,
                    certainty=certainty,
                    first_year=first,
                    last_year=last,
                    volume_low=volumes[0],
                    volume_likely=volumes[1],
                    volume_high=volumes[2],
                    contribution=contribution + _BESIDE,
                    compromise=_COMPROMISES.get(name),
                )
            )
    found.append(replace(found[9], name=_NO_BRAKE, shape=None, wheel=None, must=False, certainty=0.3))
    return tuple(replace(f, volume_likely=None) if f.name == _NO_VOLUME else f for f in found)


def _tyre(wheel: str, width: float) -> str:
    """Return a tyre that goes on the rim (handbook, rims and tests, 4)."""
    if wheel == CLUB:
        return "235/40R17" if width >= 8.0 else "225/45R17"
    if wheel == TRACK:
        return "265/35R18" if width >= 9.0 else "245/40R18"
    return "265/35R19" if width < 10.0 else "285/35R19" if width < 11.0 else "305/30R19"


#: Outlines of the catalogue's and the planned blanks: z,r or z,r,bulge, closed along the axle.
_OUTLINES = {
    BLANK_B17: """
        41.8,0.0 41.8,33.4,-0.0560 42.2,36.8,0.0560 42.3,37.6 42.3,67.9,-0.1182 43.9,74.7 58.0,102.3,-0.0059
        58.2,102.6 66.4,117.9,0.0500 67.8,121.3 75.0,145.1,0.0516 75.7,148.8 77.4,167.5,0.0512
        77.3,171.2,-0.0095 77.3,171.8,0.0618 76.4,176.2 70.1,194.8,-0.3315 75.7,211.9,0.0535
        76.6,212.7,0.1876 78.1,216.5 78.1,216.8,-0.2268 83.7,228.4,0.2268 85.1,231.4 85.1,234.4,0.3292
        82.8,237.5,0.0704 79.6,238.0 -41.5,240.1 -162.6,238.0,0.0704 -165.8,237.5,0.3292 -168.1,234.4
        -168.1,230.9,0.2177 -166.8,228.0,-0.2177 -161.6,216.7 -161.6,216.6,0.1876 -160.1,212.7,0.1876
        -156.4,210.9 -132.1,208.8 -128.8,208.5,-0.0975 -123.3,206.9,0.1107 -117.3,205.3 -50.5,203.0,-0.0787
        -45.9,202.1 -21.2,193.1,0.0787 -16.2,192.1 17.4,190.9,-0.1268 24.6,188.8 40.7,179.2,-0.0642
        43.8,176.7,-0.1989 48.1,166.1 47.8,132.6,-0.1263 45.7,125.1 40.3,115.4,-0.0777 37.4,111.8
        -1.1,76.1,0.1033 -2.0,74.8,0.1033 -2.3,73.3 -2.3,37.6,0.0560 -2.2,36.8,-0.0560 -1.8,33.4 -1.8,0.0
    """,
    demo.BLANK_C18: """
        41.7,0.0 41.7,33.4,-0.0560 42.1,36.8,0.0560 42.2,37.6 42.2,67.9,-0.1182 43.8,74.7 57.9,102.3,-0.0059
        58.1,102.6 66.0,117.3,0.0729 67.8,122.3 75.3,158.7,0.0287 75.6,160.7 77.6,183.3,0.0481 77.5,186.8
        75.2,208.7,-0.3250 84.1,224.0,0.1032 86.0,225.4,0.1876 87.5,229.2 87.5,229.5,-0.2268
        93.0,241.1,0.2268 94.5,244.1 94.5,247.1,0.3292 92.2,250.2,0.0704 89.0,250.7 -40.0,252.9
        -169.0,250.7,0.0704 -172.2,250.2,0.3292 -174.4,247.1 -174.4,243.6,0.2177 -173.1,240.7,-0.2177
        -167.9,229.4 -167.9,229.3,0.1876 -166.5,225.4,0.1876 -162.7,223.6 -138.4,221.5 -135.2,221.2,-0.0975
        -129.6,219.6,0.1107 -123.7,218.0 -35.9,214.9,-0.0787 -31.3,214.0 -8.5,205.8,0.0787 -3.6,204.8
        26.7,203.8,-0.1924 36.9,199.3 43.7,192.3,-0.0983 47.1,187.1,-0.0983 48.3,181.1 47.9,132.7,-0.1269
        45.8,125.0 40.4,115.4,-0.0777 37.5,111.8 -1.0,76.1,0.1033 -1.9,74.8,0.1033 -2.2,73.3
        -2.2,37.6,0.0560 -2.1,36.8,-0.0560 -1.7,33.4 -1.7,0.0
    """,
    BLANK_D19: """
        41.7,0.0 41.7,33.4,-0.0560 42.1,36.8,0.0560 42.2,37.6 42.2,67.6,-0.1268 44.1,74.8 59.4,102.6,-0.0279
        60.3,104.0 70.4,118.2,0.1107 73.4,125.5 79.3,158.6,0.0329 79.5,161.0 80.5,183.7,-0.0341 80.8,185.8
        87.6,223.4,-0.3378 101.1,235.6 108.0,236.2,0.1876 111.7,238.1,0.1876 113.2,241.9 113.2,242.2,-0.2268
        118.8,253.8,0.2268 120.2,256.8 120.2,259.8,0.3292 117.9,262.9,0.0704 114.7,263.4 -25.0,265.8
        -164.7,263.4,0.0704 -167.9,262.9,0.3292 -170.2,259.8 -170.2,256.3,0.2177 -168.9,253.4,-0.2177
        -163.7,242.1 -163.7,242.0,0.1876 -162.2,238.1,0.1876 -158.5,236.3 -134.2,234.2 -130.9,233.9,-0.0975
        -125.4,232.3,0.1107 -119.4,230.7 -3.4,226.7,-0.0787 1.2,225.8 21.2,218.5,0.0787 26.2,217.5
        36.3,217.2,-0.3036 49.8,207.4 51.3,203.5,-0.0451 52.0,200.8,-0.0451 52.3,197.9 52.0,135.9,-0.1347
        49.8,127.9 43.4,117.3,-0.0735 40.6,113.9 -1.0,76.1,0.1045 -1.9,74.8,0.1045 -2.2,73.3
        -2.2,37.6,0.0560 -2.1,36.8,-0.0560 -1.7,33.4 -1.7,0.0
    """,
    BLANK_K18: """
        41.7,0.0 41.7,33.4,-0.0560 42.1,36.8,0.0560 42.2,37.6 42.2,67.9,-0.1182 43.8,74.7 57.9,102.3,-0.0059
        58.1,102.6 66.0,117.3,0.0729 67.8,122.3 75.3,158.7,0.0287 75.6,160.7 77.5,182.7,-0.0603 78.3,186.3
        87.6,213.5,-0.2910 100.1,223.5,0.1820 103.7,225.4,0.1876 105.2,229.2 105.2,229.5,-0.2268
        110.8,241.1,0.2268 112.2,244.1 112.2,247.1,0.3292 109.9,250.2,0.0704 106.7,250.7 -37.5,253.2
        -181.7,250.7,0.0704 -184.9,250.2,0.3292 -187.2,247.1 -187.2,243.6,0.2177 -185.9,240.7,-0.2177
        -180.7,229.4 -180.7,229.3,0.1876 -179.2,225.4,0.1876 -175.5,223.6 -151.2,221.5 -147.9,221.2,-0.0975
        -142.4,219.6,0.1107 -136.4,218.0 -27.6,214.2,-0.0787 -23.0,213.3 -2.3,205.8,0.0787 2.7,204.8
        30.4,203.8,-0.2459 42.5,197.0 45.8,191.8,-0.0726 47.7,187.7,-0.0726 48.3,183.1 48.3,181.9
        47.9,132.7,-0.1269 45.8,125.0 40.4,115.4,-0.0777 37.5,111.8 -1.0,76.1,0.1033 -1.9,74.8,0.1033
        -2.2,73.3 -2.2,37.6,0.0560 -2.1,36.8,-0.0560 -1.7,33.4 -1.7,0.0
    """,
}


def blanks() -> tuple[Blank, ...]:
    """Return three bought blanks and two of own dies: one proved, one an idea."""
    made = [demo.blank_a18()]
    for name, rows in _OUTLINES.items():
        corners = []
        for row in rows.split():
            z, r, *bulge = (float(x) for x in row.split(","))
            corners.append(Corner(z, r, bulge=bulge[0] if bulge else 0.0))
        made.append(Blank(name, tuple(corners), source=demo.INVENTED))
    return tuple(sorted((with_terms(blank) for blank in made), key=lambda blank: blank.name))


def programme() -> Programme:
    """Return the settings: 10 %, the 18-inch holder of practice 24, invented."""
    return Programme(2027, holders=(Holder(HOLDER_18, 62000.0),))


def with_terms(blank: Blank) -> Blank:
    """Return a blank of the roadmap with its supply, price and dies, all invented."""
    terms: dict[str, dict[str, object]] = {
        BLANK_B17: {
            "supply": Supply.BOUGHT,
            "state": BlankState.PROVED,
            "price": 395.0,
            "least_order": 60,
            "lead_weeks": 6.0,
        },
        demo.BLANK_C18: {
            "supply": Supply.BOUGHT,
            "state": BlankState.QUOTED,
            "price": 455.0,
            "least_order": 40,
            "lead_weeks": 6.0,
        },
        BLANK_D19: {
            "supply": Supply.BOUGHT,
            "state": BlankState.QUOTED,
            "price": 540.0,
            "least_order": 40,
            "lead_weeks": 8.0,
        },
        demo.BLANK_A18: {
            "state": BlankState.PROVED,
            "run_setup": 6500.0,
            "least_run": 120,
            "holder": HOLDER_18,
        },
        BLANK_K18: {
            "state": BlankState.IDEA,
            "die_cost": 26000.0,
            "proof_cost": 12000.0,
            "run_setup": 6500.0,
            "least_run": 120,
            "lead_weeks": 40.0,
            "holder": HOLDER_18,
            "pieces_hour": 12.0,
            "setup_hours": 6.0,
        },
    }
    return replace(blank, **terms[blank.name])  # type: ignore[arg-type]
