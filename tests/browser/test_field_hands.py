"""One hand, in gloves: how many taps, which hand, and a screen that stays on."""

import json

import pytest

from tests.browser.phones import press, wait_stored

FOUR_GASES = ["0", "Next", "2", "0", ".", "9", "Next", "0", "Next", "0"]
WAKE_LOCK = """
  window.asked = [];
  Object.defineProperty(navigator, "wakeLock", { value: { request: async (kind) => {
    window.asked.push(kind);
    ANSWER
  } } });
"""


@pytest.fixture
def taps(open_phone):
    """A phone, and how often it was tapped since it was last asked."""
    page = open_phone(
        script="addEventListener('click', (e) => { if (e.isTrusted) window.taps = "
        "(window.taps ?? 0) + 1; }, true)"
    )

    def count():
        return page.evaluate(
            "() => { const n = window.taps; window.taps = 0; return n; }"
        )

    return page, count


def read_four_gases(page):
    page.locator("button[data-kind='gas_meter']").tap()
    page.locator("#id_lel_percent").tap()
    for key in FOUR_GASES:
        page.locator(f'[data-key="{key}"]').tap()
    page.locator("#save").tap()
    page.wait_for_selector("#answer-word")


def meters(incident):
    rows = incident.entries.filter(kind="gas_meter").order_by("seq")
    return [json.loads(row.body) for row in rows]


def test_four_gases_take_at_most_14_taps_from_the_kinds(taps, incident):
    page, count = taps

    read_four_gases(page)

    assert 1 < count() <= 14  # ux.md, goal G3
    assert "LEL 0 %, Oxygen 20.9 %, CO 0 ppm, H2S 0 ppm" in page.inner_text(".say-back")
    wait_stored(page)
    (body,) = meters(incident)
    assert body["oxygen_percent"] == 20.9


def test_the_same_as_last_time_takes_two_taps_and_is_an_entry_of_its_own(
    taps, incident
):
    page, count = taps
    read_four_gases(page)
    press(page, "Same again")
    page.wait_for_selector("#same-as-last")
    assert page.input_value("#id_oxygen_percent") == ""  # nothing is taken over unasked
    count()

    press(page, "Same as last time")
    assert "Save LEL 0 %, Oxygen 20.9 %" in page.inner_text("#save")
    page.locator("#save").tap()
    page.wait_for_selector("#answer-word")

    assert count() == 2  # ux.md, goal G3
    wait_stored(page)
    first, second = meters(incident)
    assert first["at"] != second["at"]
    assert second["oxygen_percent"] == 20.9


@pytest.mark.parametrize("size", [(740, 360), (360, 740)], ids=["flat", "upright"])
def test_what_saves_lies_at_the_thumb_of_either_hand(open_phone, size):
    page = open_phone(viewport={"width": size[0], "height": size[1]})

    def place():
        """Where dry stands to wet, or on its side the bar to the middle of the screen."""
        page.locator("button[data-kind='ph_paper']").tap()
        bar = page.locator(".save-bar").bounding_box()
        dry, wet = (
            page.locator(one).bounding_box()["x"]
            for one in ("#id_moistened", "#save-wet")
        )
        page.locator(".back").tap()
        middle = bar["x"] + bar["width"] / 2
        return middle > size[0] / 2 if size[0] > size[1] else dry < wet

    assert place()

    page.locator(".settings summary").tap()
    press(page, "Save buttons for the left hand")
    assert not place()
    page.reload()
    page.wait_for_selector("button[data-kind='ph_paper']")
    assert not place()

    page.locator(".settings summary").tap()
    press(page, "Save buttons for the right hand")
    assert place()


def test_the_screen_is_asked_to_stay_on_and_again_when_it_comes_back(open_phone):
    page = open_phone(script=WAKE_LOCK.replace("ANSWER", "return {};"))
    assert page.evaluate("() => window.asked") == ["screen"]

    page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")

    assert page.evaluate("() => window.asked") == ["screen", "screen"]


@pytest.mark.parametrize(
    "script",
    [
        pytest.param(
            WAKE_LOCK.replace(
                "ANSWER", "throw new DOMException('', 'NotAllowedError');"
            ),
            id="refused",
        ),
        pytest.param(
            "Object.defineProperty(navigator, 'wakeLock', { value: undefined });",
            id="not there",
        ),
    ],
)
def test_a_screen_that_will_not_stay_on_stops_nothing(open_phone, incident, script):
    page = open_phone(script=script)
    errors = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")

    read_four_gases(page)
    wait_stored(page)

    assert errors == []
    assert len(meters(incident)) == 1
