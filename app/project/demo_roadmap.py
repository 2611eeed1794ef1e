"""An invented maker's roadmap: 36 fitments over eight years. No real car, brake, wheel, blank or firm."""

from __future__ import annotations

from dataclasses import replace

from app.project import demo
from app.project.programme import Holder, Programme
from app.project.project import Compromise, Fitment
from app.project.wheel import Wheel
from app.project.wheel_edits import with_diameter, with_spokes_fixed_to
from geometry.shape.blank import Blank, BlankState, Supply
from geometry.shape.outline import StayOut

TRACK, CLUB, GT = "Track 18", "Club 17", "GT 19"
BRAKE_345, BRAKE_316 = "Brake 345 x 30", "Brake 316 x 28"
BLANK_B17, BLANK_K18, BLANK_D19 = "B17", "K18", "D19"
HOLDER_18 = "18 inch holder"
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
