"""A worksheet file alone gives a whole report; a database adds who and when."""

import json
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from reports.after_action import build
from reports.data import ChainHead, SignOff
from reports.from_worksheet import (
    EntryRecord,
    IncidentRecord,
    OwnRecord,
    report_data,
)
from reports.reading import page_texts
from screening.verdicts import Action, Finding, Hazard, Status
from screening.worksheet import load_json
from tests.reports.worksheets import START, document, entry, gas


def report(sheet=None, **options):
    raw = json.dumps(sheet or document()).encode()
    return report_data(load_json(raw), **options)


def row(data, words):
    (found,) = [row for row in data.timeline if words in row.words]
    return found


def test_a_file_alone_gives_a_report_that_prints():
    data = report()

    words = " ".join("\n".join(page_texts(build(data))).split())

    assert data.closed_at is None
    assert data.head is None
    assert "Printed from a worksheet file that has no chain." in words
    assert "pH 2 on wet paper in the air, held on a hook" in words
    assert "Note: paper <b>red</b>" in words


def test_every_entry_stands_in_the_timeline_with_its_own_verdict():
    data = report()

    assert len(data.timeline) == len(document()["log"])
    assert row(data, "pH 2 on wet paper").action is Action.STOP
    assert row(data, "LEL 0 %").action is Action.CONTINUE
    assert row(data, "LEL 25 %").action is Action.WITHDRAW
    assert row(data, "Out").action is None


def test_a_struck_reading_says_by_whom_and_why_and_leaves_the_charts():
    sheet = document(
        [
            gas("g1", 0, 8),
            entry(
                "s1", 1, "strike", place="", entry="g1", by="Mora", reason="wrong row"
            ),
            gas("g2", 2, 0),
        ]
    )

    data = report(sheet)

    struck = row(data, "LEL 8 %")
    assert struck.struck_by == "Mora, 14:01:00"
    assert struck.struck_reason == "wrong row"
    lel = next(series for series in data.series if series.title == "LEL")
    assert [point.value for run in lel.runs for point in run.points] == [0]


def test_who_heard_a_finding_stands_with_the_reading():
    assert row(report(), "pH 2 on wet paper").heard == "Whitlock, 14:03:00"


def test_a_clear_that_does_not_hold_says_why():
    data = report()

    (clear,) = [line for line in data.decisions if "Clear of acid" in line.words]
    assert clear.outcome.startswith("Did not hold. ")
    assert clear.by == "Whitlock"


def test_what_was_never_looked_for_is_known_for_every_place():
    data = report()

    by_place = {(cover.team, cover.place): cover for cover in data.coverage}
    tank = by_place["entry-1", "tank room"]
    fluoride = next(line for line in tank.lines if line.hazard == "Fluoride vapour")
    assert fluoride.status is Status.NOT_CHECKED
    assert fluoride.next_check


def test_a_place_that_every_team_has_left_keeps_its_coverage():
    sheet = document(
        [
            entry(
                "p1",
                0,
                "ph_paper",
                place="cellar",
                sample="vapour",
                moistened=True,
                ph=7,
            ),
            entry("e1", 1, "enter", place="yard"),
        ]
    )

    data = report(sheet)

    cellar = next(cover for cover in data.coverage if cover.place == "cellar")
    assert cellar.team == ""
    acid = next(line for line in cellar.lines if line.hazard == "Acid vapour")
    assert acid.status is Status.NOT_FOUND


def test_charts_carry_the_limits_of_the_profile_in_use():
    data = report()

    series = {one.title: one for one in data.series}
    lel = [(str(one.value), one.label) for one in series["LEL"].limits]
    assert lel == [("1", "caution"), ("20", "withdraw")]
    drum = series["Surface of drum 6"]
    assert drum.unit == "°C"
    assert [str(point.value) for point in drum.runs[0].points] == ["41", "47"]
    assert drum.runs[0].points[1].action is Action.WITHDRAW


def test_a_quiet_cell_is_not_marked_with_the_verdict_of_another():
    sheet = document(
        [gas("g1", 0, 0, gases={"ammonia": 900}), entry("e1", 1, "enter")],
    )
    sheet["teams"][0]["ensemble"] = "level_d"

    data = report(sheet)

    series = {one.title: one for one in data.series}
    assert series["Ammonia"].runs[0].points[0].action is Action.WITHDRAW
    assert series["CO"].runs[0].points[0].action is Action.CONTINUE


def test_the_verdicts_over_time_start_with_the_first_entry():
    data = report()

    entry_1 = next(one for one in data.verdicts if one.team == "entry-1")
    assert entry_1.changes[0] == (START, Action.CONTINUE)
    assert Action.STOP in [action for _, action in entry_1.changes]
    assert entry_1.changes[-1][1] is Action.WITHDRAW


def test_a_loosened_limit_is_said_and_marked():
    data = report()

    assert len(data.loosened) == 1
    (lel,) = [limit for limit in data.limits if limit.loosened]
    assert (lel.value, lel.default, lel.changed) == ("20 %", "10 %", True)


def test_only_rules_that_spoke_are_listed_each_with_its_source():
    numbers = {rule.number for rule in report().rules}

    assert {1, 10, 18} <= numbers
    assert 21 not in numbers
    assert all(rule.source for rule in report().rules)


def test_an_empty_log_needs_a_time_and_then_prints():
    with pytest.raises(ValueError, match="empty log"):
        report(document([]))

    data = report(document([]), made_at=START)

    assert "Nothing was logged." in "\n".join(page_texts(build(data)))


def recorded(**changes):
    shown = Finding(
        rule="acid_vapour_at_stop",
        number=1,
        hazard=Hazard.ACID_VAPOUR,
        team="entry-1",
        place="tank room",
        action=Action.WITHDRAW,
        because="as it was shown that day",
        advice=(),
        source="that day's rules",
    )
    entries = {
        raw["id"]: EntryRecord(
            seq=number,
            recorded_at=datetime.fromisoformat(raw["at"]) + timedelta(seconds=2),
            author="J. Mora",
        )
        for number, raw in enumerate(document()["log"], start=2)
    }
    entries["p1"] = EntryRecord(
        seq=4,
        recorded_at=START + timedelta(minutes=9),
        author="J. Mora",
        late=True,
        findings=(shown,),
        superseded=(shown,),
    )
    values = {
        "agency": "Brookfield County Hazmat",
        "zone": ZoneInfo("America/Denver"),
        "opened_at": START - timedelta(minutes=5),
        "opened_by": "Dana Whitlock",
        "closed_at": START + timedelta(hours=1),
        "names": {"entry-1": "Entry team 1", "entry-1/a": "R. Calloway"},
        "entries": entries,
        "own": (
            OwnRecord(
                seq=1,
                at=START - timedelta(minutes=5),
                recorded_at=START - timedelta(minutes=5),
                words="Incident opened.",
                author="Dana Whitlock",
            ),
        ),
        "head": ChainHead(seq=22, sha256="c" * 64),
        "sign_offs": (
            SignOff(meaning="Closed the incident", name="Dana Whitlock", at=START),
        ),
    }
    return IncidentRecord(**{**values, **changes})


def test_a_database_adds_who_logged_what_and_when():
    data = report(record=recorded())

    first = data.timeline[0]
    assert (first.seq, first.words) == (1, "Incident opened.")
    late = row(data, "pH 2 on wet paper")
    assert (late.seq, late.late, late.author) == (4, True, "J. Mora")
    assert late.team == "Entry team 1"
    assert "Heard by Whitlock: record 4" in [line.words for line in data.timeline]
    assert row(data, "3900 psi").words == "Air of R. Calloway: 3900 psi"


def test_what_was_shown_that_day_is_what_is_printed():
    late = row(report(record=recorded()), "pH 2 on wet paper")

    assert late.action is Action.WITHDRAW
    assert late.because == ("As it was shown that day.",)
    assert late.superseded == ("Withdraw, As it was shown that day.",)


def test_times_are_printed_in_the_agency_s_zone():
    words = " ".join("\n".join(page_texts(build(report(record=recorded())))).split())

    assert "All in America/Denver, MST (UTC−07:00)" in words
    assert "4 March 2026 12:55:00 MST (UTC−07:00)" in words


def test_a_fault_of_the_engine_is_said_and_never_passes_for_harmless(monkeypatch):
    from reports import judged

    real = judged.step

    def failing(state, found, context):
        if found.id == "g1":
            raise RuntimeError("a fault")
        return real(state, found, context)

    monkeypatch.setattr(judged, "step", failing)

    data = report(document([gas("g1", 0, 50), entry("e1", 1, "exit")]))

    assert any("Entry g1 could not be judged" in line for line in data.cautions)
    assert all(team.action >= Action.CAUTION for team in data.teams)


METER = {
    "id": "meter-1",
    "kind": "gas_meter",
    "last_bump_test": START.isoformat(),
}


def unlisted(ident, minute, **fields):
    return entry(ident, minute, "gas_meter", oxygen_percent=20.9, **fields)


def test_a_reading_of_a_meter_that_is_not_listed_is_marked_unverified():
    listed = document(
        [gas("g1", 0, 0), unlisted("g2", 1), unlisted("g3", 2, instrument="borrowed")],
        instruments=[METER],
    )

    data = report(listed)
    words = " ".join("\n".join(page_texts(build(data))).split())

    assert [row.unverified for row in data.timeline] == [False, True, True]
    assert words.count("Unverified: it names no meter of the register") == 2


def test_a_bump_test_that_failed_after_use_stands_on_the_front_page():
    sheet = document(
        [
            gas("g1", 0, 0),
            entry(
                "b1",
                5,
                "bump_test",
                team="",
                place="",
                instrument="meter-1",
                passed=False,
            ),
        ],
        instruments=[METER],
    )
    record = IncidentRecord(names={"meter-1": "Four-gas meter 1"})

    data = report(sheet, record=record)
    front = " ".join(page_texts(build(data))[0].split())

    assert len(data.taken_back) == 1
    assert "Bump test failed after use. Four-gas meter 1 failed its bump test" in front
    assert "in 1 reading" in front


def test_without_a_failed_test_nothing_of_the_kind_is_said():
    assert report().taken_back == ()


def of_own_dress(worn, own, *log):
    """77 °F is 90 °F in full sun: people are looked at after 15 min in a suit, after 45 in
    work clothes (four-agency manual 1985)."""
    sheet = document(log=[entry("e1", 0, "enter"), *log])
    sheet["incident"]["weather"]["air_temperature"] = {"value": 77, "unit": "degF"}
    first = sheet["teams"][0]
    first["ensemble"] = worn
    first["members"][0]["ensemble"] = own
    return report(sheet)


@pytest.mark.parametrize(
    ("worn", "own", "every"),
    [
        pytest.param("level_d", "level_b", 15, id="one in more, who is hot sooner"),
        pytest.param("level_b", "level_d", 15, id="one in less"),
        pytest.param("level_d", "level_d", 45, id="all in work clothes"),
    ],
)
def test_looks_at_people_go_by_whoever_is_hot_first_as_on_the_sheet(worn, own, every):
    data = of_own_dress(worn, own)

    assert data.teams[0].check_every == timedelta(minutes=every)
    assert any(f"after each {every} min" in said for said in data.heat)


def test_a_change_of_the_whole_team_ends_what_one_wore_in_the_report_too():
    change = entry("c1", 2, "change_ensemble", place="", ensemble="level_d")
    data = of_own_dress("level_b", "level_c", change)

    assert data.teams[0].check_every == timedelta(minutes=45)
    assert data.teams[0].ensembles[-1].startswith("Level D")


def test_what_one_member_wears_counts_for_what_the_suspects_ask():
    """A splash suit of level C among level A: the report speaks of filters, too."""
    alike = of_own_dress("level_a", "level_a").suspects
    mixed = of_own_dress("level_a", "level_c").suspects

    assert alike != mixed
