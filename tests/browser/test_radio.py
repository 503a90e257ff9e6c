"""The scribe's page, by the keyboard alone."""

from django.urls import reverse


def open_radio(open_as, incident, **options):
    return open_as(
        incident.opened_by,
        reverse("incidents:radio", args=(incident.pk,)),
        **{"viewport": {"width": 1024, "height": 768}, **options},
    )


def test_a_reading_is_typed_seen_and_saved_without_a_mouse(open_as, incident):
    page = open_radio(open_as, incident)
    assert page.evaluate("document.activeElement.id") == "id_line"

    page.keyboard.type("ent")
    page.wait_for_selector(".may-follow kbd")
    page.keyboard.press("Tab")
    page.keyboard.type("tank room lel 4 o2 20.8")
    page.wait_for_selector(".understood.whole")
    assert "LEL 4 %, O2 20.8 %" in page.inner_text(".understood")
    page.keyboard.press("Enter")

    page.wait_for_selector("#answer .verdict")
    assert incident.entries.filter(kind="gas_meter").count() == 1


def test_enter_before_anything_was_shown_saves_nothing(open_as, incident):
    page = open_radio(open_as, incident)
    page.route("**/radio/understood/**", lambda route: route.abort())
    page.keyboard.type("entry 1 tank room ph 2 wet")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=press Enter once more")
    assert incident.entries.filter(kind="ph_paper").count() == 0

    page.keyboard.press("Enter")

    page.wait_for_selector("#answer .verdict.stop")
    assert incident.entries.filter(kind="ph_paper").count() == 1
