"""What is not heard: sound, vibration, the minute after which it shows everywhere.

No machine hears a loudspeaker: an AudioContext that notes what it is asked to play stands
in for the real one, and only after a real click (Playwright's `evaluate` counts as one).
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.factories import acid, entry, join, log, meter, open_incident

LISTEN = """() => {
    window.played = []; window.shaken = [];
    window.AudioContext = class {
        constructor() { this.state = 'suspended'; this.currentTime = 0; this.destination = {}; }
        async resume() { this.state = navigator.userActivation.isActive ? 'running' : this.state; this.onstatechange?.(); }
        async suspend() { this.state = 'suspended'; this.onstatechange?.(); }
        createGain() { return { gain: { linearRampToValueAtTime() {} }, connect: (to) => to }; }
        createOscillator() {
            const one = { frequency: {}, connect: (to) => to, stop() {},
                start: () => window.played.push([one.frequency.value, Math.round(performance.now())]) };
            return one;
        }
    };
    navigator.vibrate = (pattern) => window.shaken.push(pattern);
}"""


@pytest.fixture
def incident(transactional_db):
    """Open for a while: nothing is recorded before what is in the log already."""
    return open_incident(at=timezone.now() - timedelta(minutes=45))


@pytest.fixture
def inside(incident):
    start = timezone.now() - timedelta(minutes=3)
    log(incident, entry("enter", start, team="entry-1", place="tank room"))
    return incident


@pytest.fixture
def listening(open_as, inside):
    """Opens the sheet with ears; not yet touched."""

    def listen(person=None, query="", **options):
        person = person or inside.opened_by
        page = open_as(person, "/health/", **options)
        page.context.add_init_script(f"({LISTEN})()")
        page.goto(reverse("incidents:sheet", args=(inside.pk,)) + query)
        return page

    return listen


def turn_on(page):
    page.locator("#sound").click()
    page.wait_for_function(
        "() => document.getElementById('sound').textContent === 'Sound on'"
    )
    page.evaluate("() => { window.played = []; window.shaken = []; }")


def sounds(page):
    return page.evaluate("() => window.played")


def wait_for_sound(page, more_than=0, timeout=8_000):
    page.wait_for_function(f"() => window.played.length > {more_than}", timeout=timeout)


def heard(page):
    """The first Heard, once it has stood long enough to have been seen."""
    return page.locator("#alarms .heard:not([data-fresh])").first


def quiet_for(page, ms):
    """Nothing is played or shaken over this time."""
    page.evaluate("() => { window.played = []; window.shaken = []; }")
    page.wait_for_timeout(ms)
    shaken = page.evaluate("() => window.shaken.filter((pattern) => pattern !== 0)")
    return sounds(page) == [] and shaken == []


def test_the_page_says_that_sound_is_off_until_somebody_turns_it_on(listening):
    page = listening()

    assert page.locator("#sound").inner_text() == "Sound off: turn on"
    page.locator("#sound").click()
    wait_for_sound(page)

    assert page.locator("#sound").inner_text() == "Sound on"
    assert page.locator("#sound").get_attribute("aria-pressed") == "true"


def test_without_the_touch_nothing_sounds(listening, inside):
    page = listening()

    log(inside, acid(timezone.now()))
    page.wait_for_selector(".alarm")

    assert quiet_for(page, 2_000)
    assert page.locator("#sound").inner_text() == "Sound off: turn on"


def test_a_new_stop_sounds_and_shakes_until_it_is_heard_and_not_by_waiting(
    listening, inside
):
    page = listening()
    turn_on(page)
    assert quiet_for(page, 1_500)

    log(inside, acid(timezone.now()))
    wait_for_sound(page)
    first = len(sounds(page))
    wait_for_sound(page, more_than=first)
    hertz = {tone for tone, _ in sounds(page)}
    page.locator("#sound").click()  # not even by this: only Heard ends it
    assert page.locator("#sound").inner_text() == "Sound on"

    heard(page).click()
    page.wait_for_selector("#decide .said")
    page.wait_for_function("() => !document.querySelector('.alarm')")

    assert all(500 <= tone <= 3_000 for tone in hertz)
    assert quiet_for(page, 6_000)
    assert inside.entries.filter(kind="acknowledge").count() == 1


def test_a_withdraw_sounds_otherwise_than_a_stop(listening, inside):
    page = listening()
    turn_on(page)
    log(inside, acid(timezone.now()))
    wait_for_sound(page)
    stop = [tone for tone, _ in sounds(page)]
    shake = page.evaluate("() => window.shaken")
    heard(page).click()
    page.wait_for_function("() => !document.querySelector('.alarm')")
    page.evaluate("() => { window.played = []; window.shaken = []; }")

    log(inside, meter(timezone.now(), lel_percent=Decimal(12)))
    wait_for_sound(page)

    assert [tone for tone, _ in sounds(page)] != stop
    assert page.evaluate("() => window.shaken") != shake


def test_heard_on_one_page_silences_all_at_their_next_poll(listening, inside):
    log(inside, acid(timezone.now()))
    commander = listening()
    viewer = listening(join(inside, "viewer"))
    wall = listening(query="?wall=1")
    for page in (commander, viewer, wall):
        page.locator("#sound").click()
        wait_for_sound(page)

    heard(commander).click()

    for page in (viewer, wall):
        page.wait_for_function("() => !document.querySelector('[data-alarm]')")
        assert quiet_for(page, 5_500)


def test_a_reload_keeps_the_wish_for_sound_until_the_next_touch(listening, inside):
    page = listening()
    turn_on(page)

    page.reload()
    off = page.locator("#sound").inner_text()
    page.locator("#log-title").click()

    assert off == "Sound off: turn on"
    page.wait_for_function(
        "() => document.getElementById('sound').textContent === 'Sound on'"
    )


def test_ten_readings_over_the_limit_are_one_alarm_that_counts(tablet, inside):
    page = tablet("sheet")
    start = timezone.now() - timedelta(seconds=30)
    for second in range(10):
        log(
            inside,
            acid(start + timedelta(seconds=second), ph="1" if second > 8 else "2"),
        )

    page.wait_for_function(
        "() => document.querySelector('.alarm .of')?.textContent.includes('10 times')"
    )

    assert page.locator(".alarm").count() == 1
    assert "pH 1 on wet paper" in page.inner_text(".alarm .latest")
    heard(page).click()
    page.wait_for_selector(".answered li:has-text('10 times')")
    log(inside, acid(timezone.now()))
    page.wait_for_selector(".answered li:has-text('11 times')")
    assert page.locator(".alarm").count() == 0


def test_what_is_most_urgent_stands_first_and_the_news_are_read_aloud(tablet, inside):
    log(inside, acid(timezone.now()))
    page = tablet("sheet")

    log(inside, meter(timezone.now(), lel_percent=Decimal(12)))
    page.wait_for_selector(".alarm.withdraw")

    words = page.locator(".alarm h3").all_inner_texts()
    assert [word.strip() for word in words] == ["Withdraw", "Stop"]
    aloud = page.locator("#new-alarm")
    assert aloud.get_attribute("role") == "alert"
    assert "Flammable atmosphere, tank room" in aloud.inner_text()


def test_after_a_minute_it_shows_bigger_on_the_sheet_and_on_every_page(
    tablet, phone, inside
):
    at = timezone.now() - timedelta(seconds=45)  # time to open both, also when busy
    log(inside, acid(at))
    sheet, other = tablet("sheet"), phone("log-kind", "ph_paper")
    early = sheet.locator(".alarm.late").count() + other.locator(".late-line").count()
    before = sheet.locator(".alarm .wait").bounding_box()["height"]

    sheet.wait_for_selector(".alarm.late", timeout=45_000)
    other.wait_for_selector(".late-line", timeout=45_000)

    assert early == 0
    assert sheet.locator(".alarm .wait").bounding_box()["height"] > before * 1.5
    assert "Acid vapour, tank room. Entry team 1" in other.inner_text(".late-line")
    heard(sheet).click()
    other.wait_for_function(
        "() => !document.querySelector('.late-line')", timeout=9_000
    )


def test_the_notice_on_another_page_takes_neither_focus_nor_what_was_typed(
    phone, inside
):
    log(inside, acid(timezone.now() - timedelta(seconds=70)))
    page = phone("log-kind", "ph_paper")
    page.get_by_label("Place").fill("yard")

    page.wait_for_selector(".late-line")
    page.wait_for_timeout(4_500)

    assert page.get_by_label("Place").input_value() == "yard"
    assert page.evaluate("() => document.activeElement.name") == "place"


def test_silence_alone_raises_an_alarm_with_no_touch(tablet, incident):
    # Twice the PAR interval of 20 minutes is reached in a few seconds.
    start = timezone.now() - timedelta(minutes=40) + timedelta(seconds=6)
    log(incident, entry("enter", start, team="entry-1", place="tank room"))
    page = tablet("sheet")
    before = page.locator(".alarm").count()

    page.wait_for_selector("#team-entry-1 .verdict.stop", timeout=25_000)

    assert before == 0
    assert "No PAR for 40 min" in page.inner_text(".alarm")
    heard(page).click()
    page.wait_for_selector(".answered li:has-text('heard')")
    assert incident.entries.filter(kind="heard").count() == 1


class TestStill:
    def test_nothing_is_put_in_while_something_is_pressed(self, tablet, inside):
        page = tablet("sheet")
        box = page.locator("#do-par").bounding_box()
        page.mouse.move(box["x"] + 10, box["y"] + 10)
        page.mouse.down()

        log(inside, acid(timezone.now()))
        with page.expect_response(lambda r: "/live/" in r.url and r.status == 200):
            pass
        page.wait_for_timeout(300)
        while_pressed = page.locator(".alarm").count()
        page.mouse.up()

        page.wait_for_selector(".alarm")
        assert while_pressed == 0

    def test_a_heard_that_slid_under_the_finger_is_not_taken(self, tablet, inside):
        log(inside, acid(timezone.now()))
        page = tablet("sheet")
        box = heard(page).bounding_box()
        page.evaluate(
            "() => document.addEventListener('htmx:afterSwap', (event) => {"
            " if (event.target.id === 'live' && document.querySelector('.alarm.withdraw'))"
            " setTimeout(() => document.querySelector('#alarms .heard').dispatchEvent("
            "new MouseEvent('click', { bubbles: true, cancelable: true, detail: 1 })), 50); })"
        )

        log(inside, meter(timezone.now(), lel_percent=Decimal(12)))
        page.wait_for_selector(".alarm.withdraw")
        page.wait_for_timeout(900)

        assert not inside.entries.filter(kind="acknowledge").exists()
        page.mouse.click(box["x"] + 20, box["y"] + 20)
        page.wait_for_selector(".answered li:has-text('Flammable atmosphere')")

    def test_what_is_new_has_a_mark_until_somebody_touches_the_sheet(
        self, tablet, inside
    ):
        page = tablet("sheet")

        log(inside, acid(timezone.now()))

        page.wait_for_selector("#team-entry-1.new")
        assert page.locator(".log li.new").count() == 1
        page.locator("#log-title").click()
        assert page.locator(".new").count() == 0


def test_with_reduced_motion_nothing_moves_and_the_frame_is_thicker(open_as, inside):
    log(inside, acid(timezone.now() - timedelta(seconds=70)))
    url = reverse("incidents:sheet", args=(inside.pk,))
    moving = """() => [...document.querySelectorAll('*')].flatMap((node) =>
        ['', '::before', '::after'].map((part) => getComputedStyle(node, part || null)))
        .filter((style) => style.animationName !== 'none').length"""
    frame = """() => parseFloat(getComputedStyle(
        document.querySelector('.verdict.unheard'), '::after').borderTopWidth)"""

    page = open_as(inside.opened_by, url)
    still = open_as(inside.opened_by, url, reduced_motion="reduce")

    assert page.evaluate(moving) > 0
    assert still.evaluate(moving) == 0
    assert still.evaluate(frame) > page.evaluate(frame)
