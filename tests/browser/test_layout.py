"""What fits the hand, the eye and the screen. Numbers: goals G1, G2, G6, G9 of ux.md A6."""

import uuid
from datetime import timedelta

import pytest
from django.urls import resolve, reverse
from django.utils import timezone

from incidents import services
from incidents.forms.decisions import DECISION_FORMS
from incidents.forms.readings import READING_FORMS
from incidents.services.critique import Says
from tests.browser.looking import (
    BOXES,
    HELD,
    STANDING,
    gaps,
    problems,
    problems_at,
    small,
    too_wide,
)
from tests.factories import acid, entry, join, log, meter
from tests.incidents.views.test_who_may_open_what import routes


@pytest.fixture
def scene(incident):
    """A Withdraw, a Stop and a Continue on the sheet, and a struck entry."""
    now = timezone.now() - timedelta(seconds=30)
    log(incident, entry("enter", now, team="entry-1"))
    struck = log(incident, acid(now, ph="3")).entry
    log(incident, entry("strike", now, entry=struck.key, by="R", reason="Wrong value"))
    log(incident, acid(now + timedelta(seconds=1)))
    log(incident, meter(now + timedelta(seconds=2)))
    return incident


def improvement(incident):
    """One that the commander owns, made once."""
    known = incident.critique_notes.first()
    if known is not None:
        return known
    return services.pin_note(
        incident_id=incident.pk,
        person=incident.opened_by,
        client_uuid=uuid.uuid4(),
        record="critique",
        kind="improvement",
        moment=incident.opened_at,
        says=Says(
            text="Wet the paper before the door.",
            owner=incident.opened_by,
            due_on=timezone.now().date() - timedelta(days=2),
        ),
        at=timezone.now(),
    )


def addresses(incident):
    """Every page of an incident and about it, by name."""
    named = {
        name: reverse(f"incidents:{name}", args=(incident.pk,))
        for name in (
            "sheet",
            "log",
            "log-choose",
            "people",
            "charts",
            "fits",
            "incident-rules",
            "team-new",
            "close",
            "record",
            "reports",
            "look-back",
            "look-back-at",
            "look-back-note-new",
        )
    }
    named["what-if"] = (
        reverse("incidents:what-if", args=(incident.pk,))
        + "?limit=acid_stop_ph&value=1&worn_0=level_a"
    )
    named["wall"] = f"{named['sheet']}?wall=1"
    named["team"] = reverse("incidents:team", args=(incident.pk,)) + "?team=entry-1"
    named |= {
        f"log {kind}": reverse("incidents:log-kind", args=(incident.pk, kind))
        for kind in READING_FORMS
    }
    named |= {
        f"decide {kind}": reverse("incidents:decision", args=(incident.pk, kind))
        for kind in DECISION_FORMS
    }
    named["entry"] = reverse("incidents:entry", args=(incident.pk, 5))
    named["put-right"] = reverse("incidents:put-right", args=(incident.pk, 5))
    note = improvement(incident)
    named["look-back-note"] = reverse(
        "incidents:look-back-note", args=(incident.pk, note.pk)
    )
    named["follow-up-item"] = reverse("incidents:follow-up-item", args=(note.pk,))
    named["follow-up"] = reverse("incidents:follow-up")
    named["list"] = reverse("incidents:incident-list")
    named["new"] = reverse("incidents:incident-new")
    named["import"] = reverse("incidents:worksheet-import")
    named["rules"] = reverse("incidents:rules")
    named["verify"] = reverse("incidents:verify")
    named["sources"] = reverse("incidents:sources")
    # With content, filters and by rule and place: test_archive.py.
    named["archive"] = reverse("incidents:archive") + "?worst=2"
    named["archive-figures"] = reverse("incidents:archive-figures")
    named["nothing"] = "/nothing/"
    return named


# Answers that are no page, and pages that have their own test or lead elsewhere.
NO_PAGES = {
    "sheet-live",
    "late",
    "undo",
    "report-make",
    "report-file",
    "worksheet-json",
    "sign-out",
    "light",
    "clock",
    "health",
}
ELSEWHERE = {"sign-in", "reopen", "addendum"}
NO_PAGES |= {
    "device-revoke", "field-entries", "field-icon", "field-icon-svg", "field-join",
    "field-leave", "field-link", "field-manifest", "field-photo", "field-table",
    "field-worker", "photo",
    "invitation-withdraw", "key-list", "key-new", "key-root", "page-head",
    "radio-understood", "sign-off", "sop-check", "sop-profile", "sop-record",
    "zones-file", "readings-file", "form-file", "warning-file", "due-days",
    "what-if-cancel", "what-if-document", "what-if-go-on",
    "follow-up-days",
    "incident-calendar",
    "drill-answer", "drill-call-off", "drill-days", "drill-end", "drill-live",
    "drill-next", "drill-own", "drill-script-file",
}  # fmt: skip
# Looked at with the part of the work that they belong to: `test_plan`, `test_sop`,
# `test_kit`, `test_people_and_office`, `test_phones_and_radio_layout`, `test_what_if`; the last lines with
# real content in `test_record_layout`, as the pages of the record above are once more.
WITH_THEIR_PART = {
    "account", "activity-log", "devices", "exposure", "exposures", "field",
    "handed-over", "held", "incident-instruments",
    "incident-briefing",
    "instrument", "instrument-change", "instrument-new", "instrument-put-right",
    "instrument-service", "instrument-test", "instruments", "invite", "join", "line",
    "line-part", "medical", "medical-check", "medical-decide", "medical-looks",
    "medical-new", "medical-person", "part-end", "password", "plan", "plan-part",
    "radio", "recovery-codes", "second-step", "second-step-remove", "sign-in-code",
    "site-safety-plan", "sop-change", "sop-compare", "sop-first", "sop-import",
    "sop-list", "sop-new", "sop-version", "sop-withdraw",
    "key-import", "key-revoke", "keys", "photo-add",
    "own-record", "personal-record", "employment",
    "what-if-new", "what-if-run", "what-if-runs",
    "access-requests",
    "access-request",
    "drill", "drill-person", "drill-plan", "drill-results", "drill-script",
    "drill-script-from", "drill-script-new", "drill-start", "drills",
}  # fmt: skip


def test_every_page_is_looked_at(scene):
    """A new route fails here until it is among `addresses` or is said to be no page."""
    seen = {resolve(url.partition("?")[0]).url_name for url in looked_at(scene)}

    assert set(routes()) - seen == NO_PAGES | ELSEWHERE | WITH_THEIR_PART


def looked_at(incident):
    return [url for name, url in addresses(incident).items() if name != "nothing"]


@pytest.mark.parametrize("sizes", [HELD, STANDING], ids=["held", "standing"])
def test_no_page_scrolls_sideways(open_as, scene, sizes):
    width, height = sizes[0]
    page = open_as(
        scene.opened_by,
        viewport={"width": width, "height": height},
        is_mobile=sizes is HELD,
    )

    wide = {}
    for name, url in addresses(scene).items():
        page.goto(url)
        wide[name] = too_wide(page, sizes)

    assert {name: found for name, found in wide.items() if found} == {}


@pytest.mark.parametrize("size", [(360, 740), (1024, 768)])
@pytest.mark.parametrize("kind", ["", *READING_FORMS])
def test_everything_on_the_logging_pages_can_be_hit_with_gloves(
    open_as, scene, kind, size
):
    person = join(scene, "technician")
    name, args = ("log-kind", (kind,)) if kind else ("log-choose", ())
    page = open_as(
        person,
        reverse(f"incidents:{name}", args=(scene.pk, *args)),
        viewport={"width": size[0], "height": size[1]},
    )
    page.evaluate(
        "() => { for (const d of document.querySelectorAll('details')) d.open = true; }"
    )

    boxes = page.evaluate(BOXES)

    assert len(boxes) >= 8
    assert small(boxes, 72) == []
    if kind:
        saves = [box for box in boxes if box["what"].startswith("BUTTON")]
        assert saves
        assert all(box["height"] >= 96 for box in saves)


@pytest.mark.parametrize("kind", READING_FORMS)
def test_no_two_targets_of_a_form_touch(open_as, scene, kind):
    page = open_as(
        join(scene, "technician"),
        reverse("incidents:log-kind", args=(scene.pk, kind)),
        viewport={"width": 360, "height": 740},
    )
    page.locator(".where summary").click()

    assert gaps(page.evaluate(BOXES)) == []


@pytest.mark.parametrize("size", [(360, 740), (1024, 768)])
def test_other_pages_have_targets_of_48_px_and_the_bar_72(open_as, scene, size):
    page = open_as(scene.opened_by, viewport={"width": size[0], "height": size[1]})

    wrong = {}
    for name, url in addresses(scene).items():
        page.goto(url)
        boxes = page.evaluate(BOXES)
        found = [box for box in boxes if box["height"] < 47.5]
        if found:
            wrong[name] = [(box["what"], round(box["height"])) for box in found]

    assert wrong == {}
    page.goto(reverse("incidents:sheet", args=(scene.pk,)))
    heights = page.evaluate(
        "() => [...document.querySelectorAll('.bar a')].map((a) => a.offsetHeight)"
    )
    assert min(heights) >= 72
    heard = page.locator(".heard").first.bounding_box()
    assert heard["height"] >= 96


def test_the_fifteen_colours_stand_in_three_columns_or_four(open_as, scene):
    url = reverse("incidents:log-kind", args=(scene.pk, "ph_paper"))
    person = join(scene, "technician")

    columns = {}
    for width, height in ((360, 740), (360, 640), (320, 568)):
        page = open_as(person, url, viewport={"width": width, "height": height})
        boxes = page.evaluate(BOXES)
        lefts = {
            round(b["left"]) for b in boxes if b["what"].startswith("INPUT id_reading")
        }
        widths = [b["width"] for b in boxes if b["what"].startswith("INPUT id_reading")]
        columns[(width, height)] = (len(lefts), round(min(widths)))

    assert columns == {(360, 740): (3, 104), (360, 640): (4, 75), (320, 568): (4, 65)}


def test_every_colour_stands_with_its_number_and_its_word(phone):
    page = phone("log-kind", "ph_paper")

    faces = page.evaluate(
        """() => [...document.querySelectorAll('.ph [class*="ph-"]')].map((face) => [
            face.querySelector('b').textContent, face.querySelector('small').textContent,
            getComputedStyle(face.querySelector('b')).backgroundColor])"""
    )

    assert [number for number, _, _ in faces] == [str(n) for n in range(15)]
    assert faces[0][1] == "red"
    assert faces[14][1] == "dark blue"
    assert len({band for _, _, band in faces}) == 15


def test_save_stays_in_sight_however_long_the_form_is(phone):
    page = phone("log-kind", "dosimeter")

    for y in (0, 400, 10_000):
        page.evaluate(f"() => scrollTo(0, {y})")
        box = page.locator("#save").bounding_box()
        assert box["y"] + box["height"] <= 740
        assert box["y"] >= 0


def test_axe_finds_nothing_on_any_page(open_as, scene):
    page = open_as(scene.opened_by, reduced_motion="reduce")

    found = {}
    for name, url in addresses(scene).items():
        page.goto(url)
        found[name] = problems_at(page)

    assert {name: seen for name, seen in found.items() if seen} == {}


def test_axe_finds_nothing_on_an_answer_an_error_and_the_sign_in(open_as, scene):
    person = join(scene, "technician")
    page = open_as(
        person,
        reverse("incidents:log-kind", args=(scene.pk, "ph_paper")),
        viewport={"width": 360, "height": 740},
    )
    found = []

    page.locator('.where input[name="team"]').first.check(force=True)
    page.locator("#save-wet").click()
    page.wait_for_selector("#error-summary")
    found += problems(page)
    page.locator('input[name="reading"][value="2"]').check()
    page.locator("#save-wet").click()
    page.wait_for_selector("#answer")
    found += problems(page)
    page.context.clear_cookies()
    page.goto(reverse("incidents:sign-in"))
    found += problems(page)

    assert found == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_ring_of_the_keyboard_is_wide_and_stands_off(open_as, scene, scheme):
    page = open_as(
        scene.opened_by,
        reverse("incidents:sheet", args=(scene.pk,)),
        color_scheme=scheme,
    )

    rings = []
    for _ in range(12):
        page.keyboard.press("Tab")
        rings.append(
            page.evaluate(
                """() => { const s = getComputedStyle(document.activeElement);
                    return [s.outlineStyle, parseFloat(s.outlineWidth),
                            parseFloat(s.outlineOffset)]; }"""
            )
        )

    assert all(
        style == "solid" and width >= 3 and offset >= 1
        for style, width, offset in rings
    )


def test_verdicts_have_their_colours_and_nothing_is_green(tablet, scene):
    page = tablet("sheet")

    ground = page.evaluate(
        """() => [...document.querySelectorAll('.verdict')].map((node) => [
            node.classList[1], getComputedStyle(node).backgroundColor])"""
    )

    # look.md: the table of verdicts, by day.
    colours = {
        "continue": "rgb(251, 250, 247)",
        "caution": "rgb(255, 212, 71)",
        "stop": "rgb(22, 24, 29)",
        "withdraw": "rgb(163, 0, 27)",
    }
    assert dict(ground) == {word: colours[word] for word, _ in ground}
    assert "stop" in dict(ground)


def test_only_what_is_unheard_pulses_once_a_second_and_not_for_those_it_disturbs(
    open_as, scene
):
    url = reverse("incidents:sheet", args=(scene.pk,))
    moving = """() => [...document.querySelectorAll('*')].flatMap((node) =>
        ['', '::before', '::after'].map((part) => [node, getComputedStyle(node, part || null)]))
        .filter(([, style]) => style.animationName !== 'none')
        .map(([node, style]) => [node.className, style.animationDuration])"""

    page = open_as(scene.opened_by, url)
    still = open_as(scene.opened_by, url, reduced_motion="reduce")

    assert page.evaluate(moving) == [["verdict stop unheard", "1s"]]
    assert still.evaluate(moving) == []
    assert (
        still.evaluate(
            "() => getComputedStyle(document.querySelector('.unheard'), '::after').borderTopWidth"
        )
        == "6px"
    )


def test_spaced_out_text_and_double_size_lose_nothing(phone, scene):
    page = phone("log-kind", "ph_paper")

    page.evaluate(
        """() => { const sheet = new CSSStyleSheet();
        sheet.replaceSync('* { line-height: 1.5 !important; letter-spacing: 0.12em !important;'
            + ' word-spacing: 0.16em !important; } p { margin-bottom: 2em !important; }');
        document.adoptedStyleSheets = [sheet]; }"""
    )

    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    cut = page.evaluate(
        """() => [...document.querySelectorAll('.face')].filter(
            (face) => face.scrollHeight > face.clientHeight + 1).length"""
    )
    assert cut == 0


def test_the_printed_sheet_has_words_and_no_buttons(tablet, scene, tmp_path):
    page = tablet("sheet")
    page.emulate_media(media="print")

    assert page.locator("#team-entry-1 .verdict .word").is_visible()
    assert not page.locator(".bar").is_visible()
    assert not page.locator(".heard").first.is_visible()
    assert page.pdf(format="A4").startswith(b"%PDF-")


def test_paper_has_what_is_folded_and_alarms_in_black(tablet, scene):
    page = tablet("sheet")
    folded = page.locator("details:not([open]) > :not(summary)")
    alarm = page.locator(".alarm").first
    assert folded.count() > 0
    assert not folded.first.is_visible()

    page.emulate_media(media="print", color_scheme="dark")

    for at in range(folded.count()):
        assert folded.nth(at).is_visible()
    colours = alarm.evaluate(
        "(node) => [getComputedStyle(node).color, getComputedStyle(node).backgroundColor]"
    )
    assert colours == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
