"""The version an incident is judged by: kept from its opening, changed by a decision."""

from datetime import timedelta
from decimal import Decimal

import pytest

from incidents import engine, selectors, services
from incidents.documents import loads
from incidents.house_rules import value_of
from incidents.models import StoredFinding
from incidents.services import chain, profiles
from incidents.services.rebuilding import rebuild
from incidents.services.sop_preview import preview_change
from reports.reading import page_texts
from screening.verdicts import Action
from tests.conftest import changes_allowed
from tests.factories import (
    START,
    PersonFactory,
    acid,
    entry,
    join,
    log,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

LOOSE = {
    "limits": {"lel_withdraw_percent": Decimal(20)},
    "reasons": {"lel_withdraw_percent": "Read at the pump"},
}
# pH 3 on wet paper is a stop at or below 4, a caution between.
STRICT_ACID = {"limits": {"acid_stop_ph": Decimal(4)}}
MILD_ACID = {"limits": {"acid_stop_ph": Decimal("2.5")}}


@pytest.fixture
def boss():
    return PersonFactory.create(may_edit_sop=True)


def version(person, number="1", at=START, **changes):
    draft = profiles.Draft(
        name="Example County SOP",
        version=number,
        approved_by="Chief O. Lark",
        effective_on=changes.pop("effective_on", START.date()),
        **changes,
    )
    return profiles.add_version(person=person, draft=draft, at=at)


def change(incident, sop, *, instead_of=None, reason="The state team's SOP", at=None):
    return services.change_sop(
        incident_id=incident.pk,
        person=incident.opened_by,
        sop=sop,
        seen=instead_of and instead_of.pk,
        reason=reason,
        at=at or minutes(9),
    )


class TestOpening:
    def test_the_incident_keeps_the_version_and_its_limits(self, boss):
        sop = version(boss, **LOOSE)

        incident = open_incident(person=boss, sop=sop)

        incident.refresh_from_db()
        assert incident.sop == sop
        assert loads(incident.setup)["profile"] == loads(sop.document)
        record = loads(incident.entries.get().body)["sop"]
        assert record["sha256"] == sop.sha256
        assert record["approved_by"] == "Chief O. Lark"
        assert record["reasons"] == {"lel_withdraw_percent": "Read at the pump"}
        assert record["house_rules"] == loads(sop.house_rules)
        assert chain.verify(incident) is None

    def test_the_reason_for_a_looser_limit_stands_with_it(self, boss):
        incident = open_incident(person=boss, sop=version(boss, **LOOSE))

        (caution,) = selectors.sheet(incident, minutes(1)).cautions

        assert "this profile sets 20 %, looser than 10 %" in caution
        assert caution.endswith("Reason given: Read at the pump.")

    def test_a_looser_house_rule_is_said_too(self, boss):
        sop = version(
            boss,
            house_rules={"pulse_max": {"value": Decimal(110), "unit": "beats/min"}},
            reasons={"pulse_max": "Our physician"},
        )
        incident = open_incident(person=boss, sop=sop)

        (caution,) = selectors.sheet(incident, minutes(1)).cautions

        assert "110 beats/min, looser than 100 beats/min" in caution
        assert "Our physician" in caution
        assert value_of(incident.sop, "pulse_max") == 110

    @pytest.mark.parametrize("why", ["another agency", "later", "withdrawn"])
    def test_a_version_that_is_not_in_force_opens_nothing(self, boss, why):
        sop = version(
            boss,
            effective_on=START.date() + timedelta(days=1 if why == "later" else 0),
        )
        if why == "withdrawn":
            profiles.withdraw_version(
                version=sop, person=boss, at=START, reason="Wrong"
            )
        person = PersonFactory.create() if why == "another agency" else boss

        with pytest.raises(services.NotAllowedError):
            open_incident(person=person, sop=sop)

    def test_a_later_version_changes_nothing_of_a_running_or_a_closed_incident(
        self, boss
    ):
        first = version(boss, **STRICT_ACID)
        incident = open_incident(person=boss, sop=first)
        log(incident, acid(START, ph="3"))
        services.close_incident(
            incident_id=incident.pk, person=boss, at=minutes(5), reason="over"
        )

        second = version(boss, "2", previous=first, at=minutes(6), **MILD_ACID)
        services.reopen_incident(
            incident_id=incident.pk, person=boss, at=minutes(7), reason="Looked again"
        )
        profiles.withdraw_version(
            version=first, person=boss, at=minutes(8), reason="Replaced"
        )

        incident.refresh_from_db()
        engine.forget()
        view = selectors.sheet(incident, minutes(8))
        assert second.pk != incident.sop_id == first.pk
        assert view.assessment.by_team()["entry-1"].action is Action.STOP
        assert not rebuild(incident_id=incident.pk)


class TestChange:
    @pytest.fixture
    def incident(self, boss):
        incident = open_incident(person=boss, sop=version(boss, **STRICT_ACID))
        log(incident, entry("enter", START, team="entry-1", place="tank room"))
        log(incident, acid(minutes(1), ph="3"))
        incident.refresh_from_db()
        return incident

    @pytest.fixture
    def milder(self, boss, incident):
        return version(boss, "2", previous=incident.sop, **MILD_ACID)

    def test_it_is_a_decision_on_record_with_its_reason(self, incident, milder):
        before = incident.sop

        change(incident, milder, instead_of=before)

        incident.refresh_from_db()
        row = incident.entries.order_by("seq").last()
        body = loads(row.body)
        assert row.kind == "amendment"
        assert body["reason"] == "The state team's SOP"
        assert body["by"] == incident.opened_by.shown_name
        assert body["sop"]["version"] == "2"
        assert body["sop_before"] == {"name": before.name, "version": "1"}
        assert incident.sop == milder
        assert chain.verify(incident) is None

    def test_the_log_is_judged_again_and_what_was_shown_stays(self, incident, milder):
        shown = set(StoredFinding.objects.values_list("pk", flat=True))
        assert shown

        change(incident, milder, instead_of=incident.sop)

        incident.refresh_from_db()
        rows = StoredFinding.objects.filter(entry__kind="ph_paper")
        assert shown <= set(StoredFinding.objects.values_list("pk", flat=True))
        assert rows.filter(action=Action.STOP, superseded=False).count() == 0
        assert rows.filter(action=Action.STOP, superseded=True).count() > 0
        assert rows.filter(action=Action.CAUTION, superseded=False).count() > 0
        view = selectors.sheet(incident, minutes(10))
        assert view.assessment.by_team()["entry-1"].action is Action.CAUTION
        assert not rebuild(incident_id=incident.pk)

    def test_going_back_says_again_what_was_said(self, incident, milder):
        first = incident.sop
        count = StoredFinding.objects.filter(superseded=False).count()

        change(incident, milder, instead_of=first)
        change(incident, first, instead_of=milder, at=minutes(12))

        assert StoredFinding.objects.filter(superseded=False).count() == count
        assert not rebuild(incident_id=incident.pk)

    def test_the_built_in_limits_can_be_gone_back_to(self, incident):
        change(incident, None, instead_of=incident.sop)

        incident.refresh_from_db()
        assert incident.sop is None
        assert loads(incident.setup)["profile"]["name"] == "Built-in limits"
        assert chain.verify(incident) is None

    def test_what_was_known_before_the_change_can_still_be_seen(self, incident, milder):
        seq = incident.head_seq

        change(incident, milder, instead_of=incident.sop)

        then = engine.as_of(incident, seq)
        assert then.context.profile.version == "1"

    def test_a_reason_is_needed(self, incident, milder):
        with pytest.raises(services.EntryRefusedError):
            change(incident, milder, instead_of=incident.sop, reason="  ")

        incident.refresh_from_db()
        assert incident.sop != milder

    def test_the_version_in_use_is_no_change(self, incident):
        with pytest.raises(services.EntryRefusedError):
            change(incident, incident.sop, instead_of=incident.sop)

    def test_what_someone_else_changed_meanwhile_is_not_written_over(
        self, boss, incident, milder
    ):
        seen = incident.sop
        third = version(boss, "3")
        change(incident, third, instead_of=seen)

        with pytest.raises(services.SopChangedError):
            change(incident, milder, instead_of=seen)

        incident.refresh_from_db()
        assert incident.sop == third

    def test_a_withdrawn_version_is_not_taken_up_but_can_be_gone_back_to(
        self, boss, incident, milder
    ):
        first = incident.sop
        third = version(boss, "3")
        for each in (first, third):
            profiles.withdraw_version(
                version=each, person=boss, at=minutes(2), reason="Replaced"
            )
        change(incident, milder, instead_of=first)

        with pytest.raises(services.NotAllowedError):
            change(incident, third, instead_of=milder)
        change(incident, first, instead_of=milder)

        incident.refresh_from_db()
        assert incident.sop == first

    @pytest.mark.parametrize("role", ["technician", "training_officer", "viewer"])
    def test_it_is_the_commanders(self, incident, milder, role):
        other = join(incident, role)

        with pytest.raises(services.NotAllowedError):
            services.change_sop(
                incident_id=incident.pk,
                person=other,
                sop=milder,
                seen=incident.sop_id,
                reason="x",
                at=minutes(9),
            )

    def test_a_closed_incident_keeps_its_version(self, boss, incident, milder):
        services.close_incident(
            incident_id=incident.pk, person=boss, at=minutes(5), reason="over"
        )

        with pytest.raises(services.IncidentClosedError):
            change(incident, milder, instead_of=incident.sop)


class TestPreview:
    @pytest.fixture
    def incident(self, boss):
        incident = open_incident(person=boss, sop=version(boss, **STRICT_ACID))
        log(incident, entry("enter", START, team="entry-1", place="tank room"))
        log(incident, acid(minutes(1), ph="3"))
        incident.refresh_from_db()
        return incident

    def test_it_says_beforehand_what_the_change_then_does(self, boss, incident):
        milder = version(boss, "2", **MILD_ACID)

        shown = preview_change(incident, milder, minutes(2))

        entry_1 = shown.teams[0]
        assert entry_1.team == "entry-1"
        assert (entry_1.before.action, entry_1.after.action) == (
            Action.STOP,
            Action.CAUTION,
        )
        assert entry_1 in shown.changed_teams
        assert entry_1.is_milder
        stood = StoredFinding.objects.filter(superseded=False).count()
        change(incident, milder, instead_of=incident.sop)
        rows = StoredFinding.objects.all()
        assert rows.filter(superseded=True).count() == shown.no_longer_said > 0
        now = rows.filter(superseded=False).count()
        assert now == stood - shown.no_longer_said + shown.said_anew
        incident.refresh_from_db()
        after = selectors.sheet(incident, minutes(9)).assessment.by_team()
        assert after["entry-1"].action is shown.teams[0].after.action

    def test_it_stores_nothing(self, boss, incident):
        milder = version(boss, "2", **MILD_ACID)
        revision = incident.revision

        preview_change(incident, milder, minutes(2))

        incident.refresh_from_db()
        assert incident.revision == revision
        assert not StoredFinding.objects.filter(superseded=True).exists()
        view = selectors.sheet(incident, minutes(2)).assessment
        assert view.by_team()["entry-1"].action is Action.STOP

    def test_the_same_limits_change_nothing(self, boss, incident):
        shown = preview_change(incident, version(boss, "2", **STRICT_ACID), minutes(2))

        assert shown.changed_teams == ()
        assert (shown.no_longer_said, shown.said_anew) == (0, 0)

    def test_limits_under_which_the_log_cannot_be_read_are_refused(self, boss):
        first = version(boss, paper_chart={"teal": [Decimal(8), Decimal(9)]})
        incident = open_incident(person=boss, sop=first)
        log(incident, colour(minutes(1), "teal"))
        incident.refresh_from_db()

        with pytest.raises(services.EntryRefusedError):
            preview_change(incident, version(boss, "2"), minutes(2))


def colour(at, name):
    body = acid(at) | {"band": name}
    del body["ph"]
    return body


class TestReport:
    def text(self, incident):
        report = services.make_report(
            incident_id=incident.pk, person=incident.opened_by, at=minutes(20)
        )
        return " ".join(" ".join(page_texts(bytes(report.pdf))).split())

    def test_a_looser_limit_and_its_reason_stand_in_the_report(self, boss):
        text = self.text(open_incident(person=boss, sop=version(boss, **LOOSE)))

        assert "this profile sets 20 %, looser than 10 %" in text
        assert "Reason given: Read at the pump." in text

    def test_it_says_who_approved_the_limits_and_since_when(self, boss):
        text = self.text(open_incident(person=boss, sop=version(boss)))

        assert "approved by Chief O. Lark, in force from 2026-03-04" in text

    def test_a_looser_house_rule_stands_in_the_report_but_no_persons_figure(self, boss):
        sop = version(
            boss,
            house_rules={"pulse_max": {"value": Decimal(110), "unit": "beats/min"}},
            reasons={"pulse_max": "Our physician"},
        )

        text = self.text(open_incident(person=boss, sop=sop))

        assert "110 beats/min, looser than 100 beats/min" in text
        assert "Reason given: Our physician." in text

    def test_a_change_of_the_limits_stands_in_the_log_of_the_report(self, boss):
        incident = open_incident(person=boss, sop=version(boss))
        log(incident, acid(minutes(1)))
        incident.refresh_from_db()
        change(incident, version(boss, "2", **LOOSE), instead_of=incident.sop)

        text = self.text(incident)

        assert "Limits changed from Example County SOP, version 1" in text
        assert "to Example County SOP, version 2." in text
        assert "The state team's SOP" in text


class TestTampering:
    def test_a_changed_version_shows_in_the_chain(self, boss):
        sop = version(boss, **STRICT_ACID)
        incident = open_incident(person=boss, sop=sop)
        with changes_allowed():
            type(sop).objects.filter(pk=sop.pk).update(approved_by="Someone else")
        incident.refresh_from_db()

        problem = chain.verify(incident)

        assert problem is not None
        assert problem.what == "sop"

    def test_another_version_on_the_incident_shows_in_the_chain(self, boss):
        incident = open_incident(person=boss, sop=version(boss))
        incident.sop = version(boss, "2")
        incident.save(update_fields=["sop"])

        problem = chain.verify(incident)

        assert problem is not None
        assert (problem.what, problem.found) == ("sop", "Example County SOP, version 2")
