"""Hand-made report data: an invented incident that needs neither engine nor database."""

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from reports.data import (
    ChainHead,
    CoverageLine,
    DecisionLine,
    Fact,
    FindingLine,
    LimitRow,
    MeterSeries,
    PlaceCoverage,
    Point,
    ReportData,
    RuleLine,
    Run,
    SignOff,
    TeamLine,
    TimelineRow,
    VerdictChanges,
)
from review.channels import Limit
from screening.verdicts import Action, Status

ZONE = ZoneInfo("America/Chicago")
START = datetime(2026, 3, 4, 14, 0, tzinfo=ZONE)
HEAD = ChainHead(seq=7, sha256="ab" * 32)
NASTY = (
    '<b>hot</b> </para> &#xFFFFFF; <img src="/etc/hostname"/> <a href="javascript:1">'
)


def at(minutes, seconds=0):
    return START + timedelta(minutes=minutes, seconds=seconds)


def empty(**changes):
    """An incident in which nothing happened, still open."""
    data = ReportData(
        incident="Quarry Lane pump house",
        agency="Brookfield County Hazmat",
        zone=ZONE,
        made_at=at(90),
        facts=(),
        started_at=None,
        closed_at=None,
        profile_name="Example County SOP",
        profile_version="3",
    )
    return replace(data, **changes)


def acid_finding():
    return FindingLine(
        action=Action.STOP,
        hazard="Acid vapour",
        place="tank room",
        because="pH 2 on paper held in the air, at or below 4 (limit of the profile).",
        advice=(
            "Back out of the tank room: turnout gear does not keep vapour from the skin.",
            "Hold a wet fluoride strip to the leak before anyone goes back.",
        ),
        source="common practice, no source",
        number=1,
        at=at(2, 10),
    )


def sample(**changes):
    """A closed incident with two teams, readings of most kinds and one chart."""
    unknown = tuple(
        CoverageLine(hazard=hazard, status=status, because=because, next_check=check)
        for hazard, status, because, check in (
            ("Acid vapour", Status.FOUND, "pH 2 at 14:02:10.", ""),
            ("Base vapour", Status.NOT_FOUND, "pH 2 on wet paper at 14:02:10.", ""),
            (
                "Oxidiser vapour",
                Status.CANNOT_TELL,
                "The KI-starch paper was dry at 14:05:00.",
                "Wet a KI-starch strip and hold it in the air.",
            ),
            (
                "Fluoride vapour",
                Status.NOT_CHECKED,
                "Nobody looked here.",
                "Hold a wet fluoride strip to the leak.",
            ),
            (
                "Flammable atmosphere",
                Status.OUT_OF_DATE,
                "LEL 0 % at 14:01:00, older than 5 min.",
                "Read the meter again at floor height.",
            ),
            (
                "Gamma radiation",
                Status.NOT_CHECKED,
                "Nobody looked here.",
                "Take a dosimeter in.",
            ),
        )
    )
    data = empty(
        location="214 Quarry Lane",
        mission="rescue",
        started_at=START,
        closed_at=at(75),
        facts=(
            Fact(label="Mission", text="Rescue"),
            Fact(
                label="Weather", text="20 °C, humidity 45 %, wind 3 m/s from 225° (SW)"
            ),
            Fact(label="Background dose rate", text="0.01 mrem/h"),
            Fact(label="Suspected", text="ammonia"),
            Fact(label="Opened by", text="Dana Whitlock"),
        ),
        teams=(
            TeamLine(
                name="Entry 1",
                role="entry",
                ensembles=("Turnout gear, SCBA", "Level A, vapour-tight, SCBA"),
                members=(
                    "R. Calloway, 1840 L at 4500 psi, started at 4400 psi",
                    "T. Osei",
                ),
                place="tank room",
                inside=False,
                action=Action.STOP,
                findings=(acid_finding(),),
                look_next="Hold a wet fluoride strip to the leak.",
            ),
            TeamLine(
                name="Backup",
                role="backup",
                ensembles=("Turnout gear, SCBA",),
                members=("M. Lindqvist", "P. Sand"),
                place="",
                inside=False,
                action=Action.CONTINUE,
                findings=(),
                look_next="",
            ),
        ),
        coverage=(
            PlaceCoverage(team="Entry 1", place="tank room", lines=unknown),
            PlaceCoverage(team="Backup", place="", lines=unknown[3:]),
        ),
        timeline=timeline(),
        decisions=(
            DecisionLine(
                at=at(40),
                seq=6,
                by="Dana Whitlock",
                words="Clear of acid vapour in the tank room: aired for 20 min",
                outcome="Did not hold: no wet pH paper since the finding.",
            ),
        ),
        series=(lel_series(), oxygen_series()),
        verdicts=(
            VerdictChanges(
                team="Entry 1",
                changes=(
                    (at(0), Action.CONTINUE),
                    (at(2, 10), Action.CAUTION),
                    (at(14), Action.WITHDRAW),
                    (at(26), Action.STOP),
                ),
            ),
            VerdictChanges(team="Backup", changes=((at(0), Action.CONTINUE),)),
        ),
        rules=(
            RuleLine(
                number=1,
                title="pH paper in the air at or below the acid stop limit",
                source="common practice, no source",
            ),
            RuleLine(
                number=10,
                title="LEL at or above the withdraw limit, or over-range",
                source="29 CFR 1910.146(b)",
            ),
        ),
        limits=(
            LimitRow(
                label="LEL, withdraw at",
                value="20 %",
                default="10 %",
                source="29 CFR 1910.146(b)",
                changed=True,
                loosened=True,
            ),
            LimitRow(
                label="Acid, stop at pH",
                value="4",
                default="4",
                source="common practice, no source",
            ),
        ),
        loosened=("LEL withdraw is 20 %, looser than 10 % (29 CFR 1910.146(b)).",),
        cautions=("R of a gamma dosimeter is read as rem one for one.",),
        head=HEAD,
        sign_offs=(
            SignOff(
                meaning="Incident commander, closed the incident",
                name="Dana Whitlock",
                at=at(75),
            ),
        ),
        made_by="Dana Whitlock",
    )
    return replace(data, **changes)


def timeline():
    return (
        TimelineRow(seq=1, at=at(-1), words="Incident opened", author="Dana Whitlock"),
        TimelineRow(
            seq=2,
            at=at(1),
            recorded_at=at(1, 4),
            team="Entry 1",
            place="tank room",
            words="LEL 0 %, O2 20.9 %, CO 0 ppm, H2S 0 ppm at floor height",
            action=Action.CONTINUE,
            author="J. Mora",
        ),
        TimelineRow(
            seq=4,
            at=at(2, 10),
            recorded_at=at(9, 3),
            team="Entry 1",
            place="tank room",
            words="pH 2 on wet paper in the air, held on a hook",
            note=NASTY + " seen by \U0001f525 and 漢",
            action=Action.STOP,
            because=("pH 2 on paper held in the air, at or below 4.",),
            author="J. Mora",
            late=True,
            heard="Dana Whitlock, 14:09:40",
        ),
        TimelineRow(
            seq=3,
            at=at(5),
            team="Entry 1",
            place="tank room",
            words="KI-starch paper dry, in the air: no change",
            action=Action.CONTINUE,
            author="J. Mora",
            struck_by="record 5, J. Mora, 14:06:00",
            struck_reason="the strip was not wetted",
        ),
        TimelineRow(
            seq=5,
            at=at(6),
            words="Put right by J. Mora: record 3: the strip was not wetted",
            author="J. Mora",
        ),
        TimelineRow(
            seq=6,
            at=at(40),
            place="tank room",
            words="Clear of acid vapour decided by Dana Whitlock: aired for 20 min",
            author="Dana Whitlock",
        ),
        TimelineRow(seq=7, at=at(75), words="Incident closed", author="Dana Whitlock"),
    )


def lel_series():
    figures = (0, 0, 1, 3, 6, 12, None, 8, 4, 0)
    actions = (0, 0, 1, 1, 1, 3, 3, 1, 1, 0)
    points = tuple(
        Point(
            at=at(1 + 4 * n),
            value=None if figure is None else Decimal(figure),
            action=Action(action),
        )
        for n, (figure, action) in enumerate(zip(figures, actions, strict=True))
    )
    door = tuple(Point(at=at(3 + 9 * n), value=Decimal(n % 2)) for n in range(6))
    return MeterSeries(
        title="LEL",
        unit="%",
        runs=(
            Run(label="Entry 1, tank room, meter 1", points=points),
            Run(label="Backup, loading door, meter 2", points=door),
        ),
        limits=(
            Limit(value=Decimal(1), label="caution"),
            Limit(value=Decimal(10), label="withdraw"),
        ),
    )


def oxygen_series():
    points = tuple(
        Point(at=at(1 + 4 * n), value=Decimal("20.9") - Decimal("0.2") * n)
        for n in range(10)
    )
    return MeterSeries(
        title="Oxygen",
        unit="%",
        runs=(Run(label="Entry 1, tank room, meter 1", points=points),),
        limits=(
            Limit(value=Decimal("19.5"), label="deficient below"),
            Limit(value=Decimal("23.5"), label="enriched above"),
        ),
    )


def long_log(count):
    """A closed incident with `count` readings."""
    kinds = timeline()[1:4]
    rows = tuple(
        replace(kinds[n % 3], seq=n + 1, at=at(0, 5 * n), note="", struck_by="")
        for n in range(count)
    )
    points = tuple(
        Point(at=at(0, 5 * n), value=Decimal(n * 7 % 15)) for n in range(count)
    )
    series = replace(lel_series(), runs=(Run(label="Entry 1", points=points),))
    return sample(timeline=rows, series=(series,) * 6, closed_at=at(90, 5 * count))
