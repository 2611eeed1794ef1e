"""The window's sentences are those of the reports in English."""

from app.files.project_file import load
from app.reports import sentences
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import rows_of
from app.resources import sample
from app.studies.fit import measure_wheel
from app.studies.road import on_the_road
from app.views import reading_words


def test_a_sentence_of_the_window_is_that_of_the_reports() -> None:
    project = load(sample("1-track-18-own-blank"))
    wheel = project.wheels[0]
    measured = measure_wheel(project, wheel)
    assert measured.measurements is not None
    road = on_the_road(project, wheel, measured)
    rows = [*rows_of(measured.measurements), *(road.rows if road is not None else ())]
    numbers = Numbers(unit_of(project))
    said = [reading_words.sentence(row, numbers) for row in rows]
    assert len({type(row) for row in rows}) == 5
    assert said == [sentences.sentence(row, numbers) for row in rows]
