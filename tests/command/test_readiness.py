"""What is not ready: each need at both of its sides, beside its source."""

from datetime import UTC, timedelta
from decimal import Decimal

import pytest

from command.form_blocks import site_map
from command.needs import NEEDS
from command.plan import Plan, fold
from command.readiness import blocking, lacks_of, not_ready, standing_inside
from command.scene import WeatherRules
from command.site_safety_plan import Paper
from screening.ensembles import Ensemble
from screening.verdicts import Action
from tests.command.plans import minutes, plan, record, scene


def keys(lacks):
    return [lack.key for lack in lacks]


def test_a_plan_that_is_whole_lacks_nothing():
    assert not_ready(scene()) == ()


def test_without_a_plan_nothing_is_missing_from_it():
    """Incidents of before, and those that a program writes, are judged by readings."""
    assert not_ready(scene(Plan())) == ()


@pytest.mark.parametrize(
    ("changed", "key"),
    [
        pytest.param({"without": ["decon"]}, "decon_not_ready", id="nothing on decon"),
        pytest.param(
            {"changes": {("decon", ""): {"ready": "unknown"}}},
            "decon_not_ready",
            id="not known is not ready",
        ),
        pytest.param(
            {"without": ["briefing"]},
            "no_briefing",
            id="1910.120(b)(4)(iii): a briefing before any activity",
        ),
        pytest.param(
            {"changes": {("briefing", "b1"): {"speaker": "X", "listeners": ["Alder"]}}},
            "no_briefing",
            id="one of two did not hear it",
        ),
        pytest.param({"without": ["signatures"]}, "plan_not_signed", id="208 HM, 36"),
        pytest.param(
            {
                "changes": {
                    ("signatures", "g1"): {
                        "capacity": "hazmat_group_supervisor",
                        "name": "X",
                        "agrees": "yes",
                    }
                }
            },
            "plan_not_signed",
            id="signed, but not by the commander",
        ),
        pytest.param(
            {"without": ["medical"]}, "no_medical_plan", id="1910.120(q)(3)(vi)"
        ),
        pytest.param(
            {"changes": {("medical", ""): {"aid": "Unit 4"}}},
            "no_medical_plan",
            id="aid without transport",
        ),
        pytest.param(
            {"without": [("check_in", "b")]}, "not_checked_in", id="one not checked in"
        ),
        pytest.param(
            {"changes": {("check_in", "b"): {"name": "Birch", "where": "left"}}},
            "not_checked_in",
            id="checked in, and left again",
        ),
        pytest.param(
            {"changes": {("mode", ""): {"mode": "non_intervention", "why": "Burning"}}},
            "non_intervention",
            id="nobody goes in",
        ),
        pytest.param(
            {"without": ["positions"]}, "no_safety_officer", id="1910.120(q)(3)(vii)"
        ),
        pytest.param(
            {
                "changes": {
                    ("positions", "p1"): {
                        "position": "safety_officer",
                        "name": "dana  HOLT",
                    }
                }
            },
            "commander_is_safety_officer",
            id="one person for both, without a reason",
        ),
        pytest.param({"without": ["zones"]}, "zones_not_set", id="no hot zone"),
        pytest.param(
            {
                "changes": {
                    ("check_in", "b"): {"name": "Birch", "skilled_support": "yes"}
                }
            },
            "skilled_support_not_briefed",
            id="1910.120(q)(4)",
        ),
    ],
)
def test_what_is_missing_stops_the_team(changed, key):
    found = blocking(scene(plan(**changed)), "entry-1")

    assert keys(found) == [key]
    assert found[0].action == Action.STOP
    assert found[0].source == NEEDS[key].source


@pytest.mark.parametrize(
    ("given", "key"),
    [
        pytest.param({"backup": False}, "no_backup_team", id="1910.120(q)(3)(vi)"),
        pytest.param({"backup": {"members": ()}}, "no_backup_team", id="nobody named"),
        pytest.param(
            {"backup": {"inside": True}}, "no_backup_team", id="inside itself"
        ),
        pytest.param(
            {"backup": {"ensemble": Ensemble.LEVEL_C}},
            "backup_lesser_ensemble",
            id="common practice: C behind B",
        ),
        pytest.param(
            {"backup": {"own": {"Cedar": Ensemble.LEVEL_C}}},
            "backup_lesser_ensemble",
            id="one of the backup in C behind B",
        ),
        pytest.param(
            {"entry": {"own": {"Alder": Ensemble.LEVEL_A}}},
            "backup_lesser_ensemble",
            id="B behind one in A",
        ),
        pytest.param(
            {"entry": {"members": ("Alder",)}}, "team_of_one", id="1910.120(q)(3)(v)"
        ),
        pytest.param(
            {"suspects": ("hydrogen fluoride",)},
            "no_answer_for_fluoride",
            id="suspected in the set-up",
        ),
        pytest.param(
            {"fluoride_found": True}, "no_answer_for_fluoride", id="found by paper"
        ),
    ],
)
def test_the_teams_themselves_stop_it(given, key):
    assert keys(blocking(scene(**given), "entry-1")) == [key]


@pytest.mark.parametrize(
    "backup", [Ensemble.LEVEL_A, Ensemble.LEVEL_B], ids=["better", "equal"]
)
def test_a_backup_in_an_equal_or_better_ensemble_is_enough(backup):
    assert blocking(scene(backup={"ensemble": backup}), "entry-1") == ()


def test_a_backup_that_is_not_said_to_be_dressed_is_not_ready():
    without = plan(without=[("teams", "backup-1")])

    assert keys(blocking(scene(without), "entry-1")) == ["backup_not_ready"]


def test_a_named_answer_for_fluoride_burns_is_an_answer():
    """Job of the medical plan; calcium gluconate itself is from memory."""
    answered = plan(
        {
            ("medical", ""): {
                "aid": "Unit 4",
                "transport": "Unit 4",
                "hospital": "County",
                "antidotes": "Calcium gluconate gel with Unit 4",
            }
        }
    )

    assert blocking(scene(answered, suspects=("hydrogen fluoride",)), "entry-1") == ()


def test_a_commander_who_is_safety_officer_for_a_reason_cautions_with_it():
    for_a_reason = plan(
        {
            ("positions", "p1"): {
                "position": "safety_officer",
                "name": "Dana Holt",
                "why": "Nobody else in the first half hour",
            }
        }
    )

    (found,) = not_ready(scene(for_a_reason))

    assert (found.key, found.action) == ("commander_doubles", Action.CAUTION)
    assert "Nobody else" in found.words


@pytest.mark.parametrize(
    ("age", "stale"), [pytest.param(30, False, id="at 30 min"), (30.1, True)]
)
def test_weather_of_more_than_half_an_hour_is_old(age, stale):
    """Common practice, no source."""
    found = keys(not_ready(scene(at=minutes(age))))

    assert ("weather_stale" in found) is stale


@pytest.mark.parametrize(("age", "stale"), [(10, False), (10.1, True)])
def test_an_agency_may_let_weather_count_for_less(age, stale):
    rules = WeatherRules(counts_for=timedelta(minutes=10))

    found = not_ready(scene(at=minutes(age), weather_rules=rules))

    assert [lack.words for lack in found if lack.key == "weather_stale"] == (
        ["The last is 10 min old; it counts for 10 min."] if stale else []
    )


def wind(degrees, at, seq=90):
    return record("weather", {"wind_from": degrees}, at=at, seq=seq)


@pytest.mark.parametrize(
    ("degrees", "shifted"),
    [
        pytest.param(284, False, id="44 degrees"),
        pytest.param(285, True, id="45 degrees"),
        pytest.param(195, True, id="45 the other way"),
        pytest.param(240, False, id="no shift"),
    ],
)
def test_a_wind_shift_opens_the_zones_again(degrees, shifted):
    """Common practice, no source: from 45 degrees on."""
    found = not_ready(scene(plan(more=[wind(degrees, minutes(5))]), at=minutes(6)))

    assert keys(found) == (["zones_after_wind_shift"] if shifted else [])


@pytest.mark.parametrize(("degrees", "shifted"), [(269, False), (270, True)])
def test_an_agency_may_call_a_smaller_turn_a_shift(degrees, shifted):
    rules = WeatherRules(shift_degrees=Decimal(30))
    turned = plan(more=[wind(degrees, minutes(5))])

    found = keys(not_ready(scene(turned, at=minutes(6), weather_rules=rules)))

    assert found == (["zones_after_wind_shift"] if shifted else [])


def test_two_small_shifts_make_a_large_one():
    after = plan(more=[wind(270, minutes(5)), wind(300, minutes(8), seq=91)])

    assert keys(not_ready(scene(after, at=minutes(9)))) == ["zones_after_wind_shift"]


def test_looking_at_the_zones_again_closes_them_for_this_wind():
    looked = record("zones_checked", {"by": "Dana Holt"}, at=minutes(6), seq=91)
    after = plan(more=[wind(300, minutes(5)), looked])

    assert not_ready(scene(after, at=minutes(7))) == ()


def test_a_look_that_leaves_out_the_wind_hides_no_shift_of_it():
    """What a look leaves out holds as last read, as the engine has it of the weather."""
    humid = record("weather", {"humidity": 40}, at=minutes(6), seq=91)
    after = plan(more=[wind(300, minutes(5)), humid])
    alone = plan(more=[humid])

    assert keys(not_ready(scene(after, at=minutes(7)))) == ["zones_after_wind_shift"]
    assert not_ready(scene(alone, at=minutes(7))) == ()
    assert after.wind(minutes(7)).at == minutes(5)


def test_zones_that_were_set_under_a_look_without_wind_go_by_the_wind_before_it():
    humid = record("weather", {"humidity": 40}, at=minutes(2), seq=91)
    line = record("zones_checked", {"by": "Dana Holt"}, at=minutes(3), seq=92)
    after = plan(more=[humid, line, wind(300, minutes(5), seq=93)])

    assert keys(not_ready(scene(after, at=minutes(6)))) == ["zones_after_wind_shift"]


def test_the_form_names_the_wind_of_before_with_its_time():
    humid = record("weather", {"humidity": 40}, at=minutes(6), seq=91)
    shown = Paper(
        incident="Quarry Lane", location="", tools=(), zone=UTC,
        scene=scene(plan(more=[humid]), at=minutes(7)),
    )  # fmt: skip
    (said,) = (line for line in site_map(shown).lines if line.startswith("Weather"))

    assert "wind not known" not in said
    assert "240°" in said
    assert "read at 2026-03-04 19:00" in said


def test_a_shift_over_north_is_small():
    after = plan({("weather", ""): {"wind_from": 350}}, more=[wind(10, minutes(5))])

    assert not_ready(scene(after, at=minutes(6))) == ()


def test_a_part_that_changed_under_a_signature_is_named():
    changed = record("decon", {"ready": "yes", "method": "Rinse"}, seq=95)

    (found,) = not_ready(scene(plan(more=[changed])))

    assert found.key == "changed_since_signed"
    assert "decon" in found.words


def test_weather_and_check_in_go_on_under_a_signature():
    more = [
        wind(240, minutes(1), seq=95),
        record("check_in", {"name": "Elm"}, item="e", seq=96),
    ]

    assert not_ready(scene(plan(more=more), at=minutes(2))) == ()


def test_a_dissent_is_shown_and_keeps_nobody_from_signing():
    refusal = record(
        "signatures",
        {
            "capacity": "safety_officer",
            "name": "S. Larch",
            "agrees": "no",
            "dissent": "Hot zone too small",
        },
        item="g2",
        seq=99,
    )

    (found,) = not_ready(scene(plan(more=[refusal])))

    assert found.key == "plan_dissent"
    assert "too small" in found.words


@pytest.mark.parametrize(
    ("changed", "key"),
    [
        ({"without": ["mode"]}, "no_mode"),
        ({"without": ["substances"]}, "no_substance"),
        ({"without": ["objectives"]}, "no_objective"),
        (
            {"changes": {("objectives", "o1"): {"objective": "Close the valve"}}},
            "objective_without_end",
        ),
        ({"without": ["hazards"]}, "task_without_hazards"),
        ({"without": ["communications"]}, "no_communications"),
        ({"without": ["emergency"]}, "no_emergency_procedures"),
        ({"without": [("teams", "entry-1")]}, "team_without_task"),
        (
            {
                "changes": {
                    ("teams", "backup-1"): {
                        "dressed": "yes",
                        "second_task": "runs the radio",
                    }
                }
            },
            "outside_second_task",
        ),
        (
            {"changes": {("mode", ""): {"mode": "defensive", "why": "Dike first"}}},
            "defensive_mode",
        ),
        (
            {
                "changes": {
                    ("substances", "s1"): {"name": "blue powder", "certainty": "told"}
                }
            },
            "no_reference_data",
        ),
        (
            {
                "changes": {
                    ("benchmarks", "isolated"): {"intended": "2026-03-04T18:59:00Z"}
                }
            },
            "late_benchmark",
        ),
    ],
)
def test_what_cautions_is_listed_and_keeps_nobody_out(changed, key):
    found = not_ready(scene(plan(**changed)))

    assert keys(found) == [key]
    assert found[0].action == Action.CAUTION
    assert blocking(scene(plan(**changed)), "entry-1") == ()


def test_what_a_briefing_left_out_is_named():
    """ICS 208 HM, blocks 31 to 34: what a team is told before it goes in."""
    short = plan(
        {("briefing", "b1"): {"speaker": "X", "listeners": ["Alder", "Birch"]}}
    )

    (found,) = not_ready(scene(short))

    assert found.key == "briefing_incomplete"
    assert found.action == Action.CAUTION
    for left_out in ("turn-back pressure", "lost contact", "emergency decon", "refuge"):
        assert left_out in found.words


def test_one_in_the_backup_cautions():
    """29 CFR 1910.134(g)(3)(i): one, or more where needed; (g)(4)(ii): two."""
    assert keys(not_ready(scene(backup={"members": ("Cedar",)}))) == ["one_in_backup"]


# --- Inside -----------------------------------------------------------------------------

INSIDE = {"inside": True, "inside_since": minutes(10)}


def override(at, *lacks, why="Rescue of one seen moving"):
    says = {"team": "entry-1", "lacks": list(lacks), "why": why, "by": "Dana Holt"}
    return record("override", says, at=at, seq=99)


def test_what_stops_a_team_stands_while_it_is_inside():
    inside = scene(plan(without=["decon"]), entry=INSIDE, at=minutes(12))

    assert keys(standing_inside(inside, "entry-1")) == ["decon_not_ready"]


def test_an_override_makes_it_a_caution_with_the_reason():
    after = plan(without=["decon"], more=[override(minutes(10), "decon_not_ready")])

    (found,) = standing_inside(scene(after, entry=INSIDE, at=minutes(12)), "entry-1")

    assert found.action == Action.CAUTION
    assert found.waived_by.why == "Rescue of one seen moving"


def test_an_override_covers_only_what_it_names():
    after = plan(
        without=["decon", "medical"], more=[override(minutes(10), "decon_not_ready")]
    )

    found = standing_inside(scene(after, entry=INSIDE, at=minutes(12)), "entry-1")

    assert [(f.key, f.action) for f in found] == [
        ("no_medical_plan", Action.STOP),
        ("decon_not_ready", Action.CAUTION),
    ]


def test_an_override_is_for_one_entry_and_no_later_one():
    after = plan(without=["decon"], more=[override(minutes(9), "decon_not_ready")])

    (found,) = standing_inside(scene(after, entry=INSIDE, at=minutes(12)), "entry-1")

    assert found.action == Action.STOP


def test_of_a_team_outside_nothing_stands_in_its_verdict():
    assert standing_inside(scene(plan(without=["decon"])), "entry-1") == ()


def test_what_is_only_paper_does_not_change_the_verdict_of_a_team_inside():
    inside = scene(plan(without=["objectives"]), entry=INSIDE, at=minutes(12))

    assert keys(lacks_of(inside, "entry-1")) == ["no_objective"]
    assert standing_inside(inside, "entry-1") == ()


def test_a_record_that_cannot_be_read_is_named_and_counts_as_nothing():
    torn = fold([], unreadable=[7])

    found = {lack.key: lack.words for lack in not_ready(scene(torn))}

    assert "7" in found["not_readable"]
    assert "decon_not_ready" in found


def test_every_need_has_a_source():
    assert [key for key, need in NEEDS.items() if not need.source] == []
