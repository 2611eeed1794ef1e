"""Write the sample projects anew: python -m tests.support.make_samples."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from app.files.project_file import save
from app.project import demo, demo_blanks, demo_roadmap
from app.project.programme import Holder, Programme
from app.project.project import Fitment, Project

FOLDER = Path(__file__).resolve().parents[2] / "sample_projects"
OWN, BOUGHT, TOUCHING = "1-track-18-own-blank", "2-track-18-bought-blank", "3-gt-19-touching"
ROADMAP, BLANKS = "4-roadmap-36-fitments", "5-spun-and-variant-blank"


def samples() -> dict[str, Project]:
    """Return the sample projects by file name; every item in them is invented."""
    common = Project(
        name="",
        revision="A",
        revision_date="2026-01-15",
        author="demo",
        rule_sets=demo.rule_sets(),
        conditions=demo.conditions(),
        materials=(demo.material_6061(),),
    )
    track, gt = demo.track_18(), demo.gt_19()
    need = Fitment(
        name="Track front",
        customer="Customer 1 (invented)",
        car="invented track car",
        axle="front",
        use="track days",
        diameter_code=18,
        width_code=10,
        inset_low_mm=32.0,
        inset_high_mm=45.0,
        tyre="265/35R18",
        load_kg=690.0,
        bolt_count=5,
        bolt_circle_mm=120.0,
        bore_mm=72.0,
        shape=demo.BRAKE_380,
        rules=demo.ROAD_RULES,
        wheel=track.name,
        must=True,
        certainty=0.8,
        first_year=2027,
        last_year=2032,
        volume_low=60,
        volume_likely=140,
        volume_high=220,
        contribution=310.0,
    )
    return {
        OWN: replace(
            common,
            name="Track 18 in its own blank",
            wheels=(track,),
            blanks=(demo.blank_a18(),),
            shapes=(demo.brake_380(),),
            fitments=(need,),
            notes={
                "about": f"{demo.INVENTED} An 18 x 10 J track wheel from a heavy own blank with a brake "
                "envelope: everything is clear."
            },
        ),
        BOUGHT: replace(
            common,
            name="Track 18 in a bought blank",
            wheels=(replace(track, blank=demo.BLANK_C18),),
            currency="USD",
            currency_year=2026,
            blanks=(demo.with_offers(demo.blank_c18()), demo.with_dies(demo.blank_a18())),
            programme=Programme(2027, holders=(Holder(demo.HOLDER_18, 62000.0),)),
            shapes=(demo.brake_380(),),
            fitments=(need,),
            notes={
                "about": f"{demo.INVENTED} The same wheel in a thinner bought blank: barrel, well and inner "
                "lip are short of stock."
            },
        ),
        TOUCHING: replace(
            common,
            name="GT 19 over its brake",
            wheels=(gt,),
            shapes=(demo.brake_410(), demo.tie_rod_410()),
            notes={
                "about": f"{demo.INVENTED} "
                "A 19 x 12 J wheel whose brake touches at the well edge and shoulder."
            },
        ),
        ROADMAP: replace(
            common,
            name="Roadmap of an invented maker",
            currency="USD",
            currency_year=2026,
            wheels=demo_roadmap.wheels(),
            blanks=demo_roadmap.blanks(),
            shapes=demo_roadmap.shapes(),
            fitments=demo_roadmap.fitments(),
            programme=demo_roadmap.programme(),
            notes={
                "about": f"{demo.INVENTED} 36 fitments over eight years, three bought and two own blanks: "
                "which dies to commission?"
            },
        ),
        BLANKS: replace(
            common,
            name="A spun blank and a variant",
            currency="USD",
            currency_year=2026,
            wheels=(
                replace(gt, clears=(demo.BRAKE_380,), blank=demo_blanks.BLANK_S19),
                replace(track, blank=demo_blanks.BLANK_A18_LONG),
            ),
            blanks=(demo_blanks.blank_s19(), demo_blanks.tooled_a18(), demo_blanks.blank_a18_long()),
            shapes=(demo.brake_380(),),
            notes={
                "about": f"{demo.INVENTED} A 19 x 12 J wheel in a forged-and-spun blank: the line inside its "
                "outline is what can be relied on, less its stated tolerances. An 18 x 10 J wheel in a blank "
                "that another one's tools make."
            },
        ),
    }


def main() -> None:
    """Write every sample."""
    for name, project in samples().items():
        save(project, FOLDER / f"{name}.blankwright")


if __name__ == "__main__":
    main()
