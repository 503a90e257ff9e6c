"""People, sign-in and the office as they are seen: fits, is readable, runs nothing foreign.

`open_as` fails a test on whatever the content policy had to stop.
"""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from incidents.models import SignInRecord
from incidents.services.signing_in import TRIES
from tests.factories import PASSWORD, PersonFactory, join

SIZES = [(320, 568), (360, 740), (1024, 768)]
DAYS = ["light", "dark"]


@pytest.fixture
def owner(incident):
    return join(incident, "training_officer", is_agency_owner=True, username="owner")


def pages(incident):
    """Every page of this part that is opened by its address."""
    person = incident.opened_by
    at = {
        name: reverse(f"incidents:{name}", args=[incident.pk])
        for name in ("people", "invite")
    }
    at["part-end"] = reverse("incidents:part-end", args=[incident.pk, person.pk])
    for name in ("account", "password", "second-step", "join", "incident-list"):
        at[name] = reverse(f"incidents:{name}")
    return at


def office(person):
    names = [
        ("index", ()),
        ("person-new-password", (person.pk,)),
        ("person-no-second-step", (person.pk,)),
        ("incidents_signinrecord_changelist", ()),
    ]
    for model, number in (("person", person.pk), ("agency", person.agency_id)):
        names.append((f"incidents_{model}_changelist", ()))
        names.append((f"incidents_{model}_change", (number,)))
    names.append(("incidents_person_add", ()))
    return {name: reverse(f"admin:{name}", args=args) for name, args in names}


def wide(page):
    return page.evaluate("() => document.documentElement.scrollWidth - innerWidth")


def found_by_axe(page):
    found = Axe().run(
        page,
        options={
            "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
            # It would copy imported style sheets into the page, against the policy.
            "preload": False,
        },
    )
    return [
        (each["id"], node["target"])
        for each in found.response["violations"]
        for node in each["nodes"]
    ]


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("size", SIZES, ids=lambda size: "{}x{}".format(*size))
def test_pages_of_people_and_sign_in_fit_and_can_be_read(open_as, incident, size, day):
    page = open_as(
        incident.opened_by,
        viewport={"width": size[0], "height": size[1]},
        color_scheme=day,
    )

    for name, url in pages(incident).items():
        page.goto(url)
        assert wide(page) <= 0, name
        assert found_by_axe(page) == [], name


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("size", SIZES[1:], ids=lambda size: "{}x{}".format(*size))
def test_the_office_works_under_the_strict_policy_and_can_be_read(
    open_as, incident, owner, size, day
):
    said = []
    page = open_as(
        owner, viewport={"width": size[0], "height": size[1]}, color_scheme=day
    )
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))

    for name, url in office(incident.opened_by).items():
        page.goto(url)
        assert wide(page) <= 0, name
        assert found_by_axe(page) == [], name

    assert said == []


def test_an_owner_adds_a_person_who_makes_a_password_of_their_own(
    open_as, browser, live_server, incident, owner
):
    page = open_as(owner)
    page.get_by_role("link", name="People of your agency").click()
    page.get_by_role("link", name="Add").click()
    page.get_by_label("Username").fill("new")
    page.get_by_label("Name on pages").fill("N. Ew")
    page.get_by_role("button", name="Save").click()
    password = page.locator(".password").inner_text()
    assert re.fullmatch(r"(\w{4}-){3}\w{4}", password)

    context = browser.new_context(base_url=live_server.url)
    theirs = context.new_page()
    sign_in(theirs, "new", password)
    theirs.get_by_label("Password that you have now").fill(password)
    theirs.get_by_label("New password", exact=True).fill("seven grey herons")
    theirs.get_by_label("New password again").fill("seven grey herons")
    theirs.get_by_role("button", name="Change the password").click()

    theirs.get_by_role("heading", name="Incidents").wait_for()
    assert "N. Ew" in theirs.locator("header.head").inner_text()
    context.close()


def sign_in(page, name, password):
    page.goto("/sign-in/")
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def test_a_neighbour_comes_in_by_a_code_and_with_a_second_step(
    open_as, browser, live_server, incident
):
    neighbour = PersonFactory.create(
        username="moss", display_name="E. Moss", may_open=False
    )
    device = TOTPDevice.objects.create(user=neighbour, name="x", confirmed=True)
    page = open_as(incident.opened_by)
    page.goto(reverse("incidents:people", args=[incident.pk]))
    page.get_by_role("link", name="Invite someone").click()
    page.get_by_label("Name and agency").fill("E. Moss, state team")
    page.get_by_label("Technician").check(force=True)
    page.get_by_role("button", name="Make the code").click()
    code = page.locator(".code").inner_text()

    context = browser.new_context(base_url=live_server.url)
    theirs = context.new_page()
    sign_in(theirs, "moss", PASSWORD)
    theirs.get_by_label("Code").fill(f"{totp(device.bin_key):06d}")
    theirs.get_by_role("button", name="Sign in").click()
    theirs.get_by_role("link", name="Enter an invitation").click()
    theirs.get_by_label("Code of the invitation").fill(code.upper())
    theirs.get_by_role("button", name="Take the part").click()

    theirs.get_by_role("link", name="Log a reading").wait_for()
    assert "E. Moss, technician" in theirs.locator("header.head").inner_text()
    context.close()


def test_who_is_held_back_reads_when_to_come_back(browser, live_server, incident):
    context = browser.new_context(base_url=live_server.url)
    page = context.new_page()
    for _ in range(TRIES + 1):
        sign_in(page, incident.opened_by.username, "wrong")

    assert "Try again in" in page.get_by_role("alert").inner_text()
    assert found_by_axe(page) == []
    assert SignInRecord.objects.filter(outcome="held_back").count() == 1
    context.close()
