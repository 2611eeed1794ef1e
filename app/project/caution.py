"""The caution that stands wherever the work could be taken for approval."""

CAUTION = (
    "Geometric and screening results only: not a strength, fatigue, impact or approval statement. "
    "Physical tests to the applicable standard, local rules and a licensed engineer decide."
)
