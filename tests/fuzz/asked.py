"""How a mutated file is asked to be read: any request that the parent would let through."""

from __future__ import annotations

from random import Random

from app.files.readers.answer import AXLES, LEAST_BALL_MM, SIDES, UNITS, Request

_COLUMNS = ("z", "r", "x", "y", "bulge", "")


def request(suffix: str, rng: Random) -> Request:
    """Return a request: as it stands without a choice in a third of the cases, else any choices."""
    if rng.random() < 0.4:
        return Request(suffix)

    def seldom(chance: float) -> bool:
        return rng.random() < chance

    def some(*words: str) -> tuple[str, ...]:
        return tuple(rng.choice(words) for _ in range(rng.randint(1, 2))) if seldom(0.02) else ()

    return Request(
        suffix,
        unit=rng.choice((None, *UNITS)),
        side=rng.choice(SIDES),
        layers=some("0", "BODY", "OUTLINE", "Layer 1", ""),
        colours=some("7", "1", "bylayer", "#000000", "black"),
        kinds=some("LINE", "ARC", "LWPOLYLINE", "path", "SPLINE"),
        join_mm=rng.choice((1e-9, 0.001, 0.01, 0.01, 0.1, 1.0, 10.0, 1e4)),
        close=seldom(0.3),
        mirror=seldom(0.3),
        drop_open=seldom(0.3),
        axle=rng.choice(AXLES),
        axle_at=(rng.uniform(-50.0, 50.0), rng.choice((0.0, 1e9, -3.0))) if seldom(0.1) else (0.0, 0.0),
        bodies=tuple(rng.choice((0, 0, 1, -1)) for _ in range(rng.randint(1, 2))) if seldom(0.1) else (),
        points=rng.choice(("auto", "auto", "outline", "cloud")),
        columns=tuple(rng.choice(_COLUMNS) for _ in range(rng.randint(1, 5))) if seldom(0.15) else (),
        sheet=rng.choice(("Sheet1", "Sheet", "nothing", "\x00")) if seldom(0.05) else "",
        ball_mm=rng.choice((0.0, 0.5, 1.5, 3.0, 49.9, LEAST_BALL_MM)) if seldom(0.2) else 0.0,
        quantile=rng.choice((1.0, 0.99, 0.5)) if seldom(0.2) else 1.0,
    )
