"""What goes wrong in a warm zone: every entry is in the log exactly once, in order."""

import random
from collections import Counter

import pytest

from tests.browser import post as scripts
from tests.browser.chromium import CHROMIUM
from tests.browser.phones import PHONE, WAITING, send_now, wait_empty, wait_ready

MINUTE = 60_000
# Puts entries into the phone's own store as its page does, one transaction each.
FILL = """async (count) => {
  const store = await import("/static/field/store.js");
  const now = await store.kept("now");
  const offset_ms = await store.kept("offset");
  for (let n = 0; n < count; n += 1) {
    await store.add({
      uuid: crypto.randomUUID(), kind: "ph_paper", state: "waiting", words: "pH 7",
      fields: { sample: "vapour", reading: "7", moistened: "yes", place: `bay ${n}` },
      device_at: new Date().toISOString(), offset_ms,
      incident: now.incident.id, team: now.team.id, device: now.device.id,
    });
  }
}"""


@pytest.fixture
def phones(browser, post):
    """Makes a phone that has joined and is ready for no link."""
    contexts = []

    def make(name="Phone", script=""):
        context = browser.new_context(base_url=post.url, **PHONE)
        contexts.append(context)
        if script:
            context.add_init_script(script)
        return joined(context.new_page(), post, name)

    yield make
    for context in contexts:
        context.close()


def joined(page, post, name="Phone"):
    page.goto(f"{post.url}/field/#join={post.offer(name)['secret']}")
    wait_ready(page)
    return page


def places(rows):
    return [row["body"]["place"] for row in rows]


def test_five_hundred_entries_through_lost_answers(post, phones):
    page = phones("Phone of 500")
    page.context.set_offline(True)
    page.evaluate(FILL, 500)
    rng = random.Random(5)

    def lose(route):
        if rng.random() < 0.3:
            route.fetch()  # the post has it; the phone is not told
            route.abort()
        else:
            route.continue_()

    page.context.route("**/field/link/entries/", lose)
    page.context.set_offline(False)
    send_now(page)
    wait_empty(page, 120)

    rows = [row for row in post.log() if row["device"] == "Phone: Phone of 500"]
    assert places(rows) == [f"bay {n}" for n in range(500)]


def test_the_post_is_killed_between_storing_and_answering(post, phones):
    page = phones("Phone K")
    killed = []

    def kill(route):
        if killed:
            route.continue_()
            return
        route.fetch()
        killed.append(1)
        post.kill()
        route.abort()

    page.context.route("**/field/link/entries/", kill)
    page.evaluate(FILL, 3)
    send_now(page)
    assert killed
    assert page.evaluate(WAITING) == 3
    post.start()
    send_now(page)
    wait_empty(page)

    rows = [row for row in post.log() if row["device"] == "Phone: Phone K"]
    assert places(rows) == ["bay 0", "bay 1", "bay 2"]


def test_sessions_are_gone_meanwhile_and_it_does_not_matter(post, phones):
    page = phones("Phone S")
    page.context.set_offline(True)
    page.evaluate(FILL, 2)
    post.run(scripts.FORGET_PEOPLE)
    page.context.clear_cookies(name="sessionid")
    page.context.clear_cookies(name="csrftoken")
    page.context.set_offline(False)
    send_now(page)
    wait_empty(page)
    assert Counter(row["device"] for row in post.log())["Phone: Phone S"] == 2


def test_two_tabs_of_one_phone_send_each_entry_once(post, phones):
    page = phones("Phone T")
    page.context.set_offline(True)
    page.evaluate(FILL, 120)
    other = page.context.new_page()
    other.goto(f"{post.url}/field/")
    other.wait_for_selector("button[data-kind='ph_paper']")
    page.context.set_offline(False)
    for tab in (page, other):
        tab.evaluate(
            "() => { import('/static/field/send.js').then((m) => m.flush()); }"
        )
    wait_empty(page, 60)
    rows = [row for row in post.log() if row["device"] == "Phone: Phone T"]
    assert places(rows) == [f"bay {n}" for n in range(120)]


def clock_moved(minutes):
    return f"""(() => {{
      const Real = Date;
      const by = {minutes * MINUTE};
      window.Date = class extends Real {{
        constructor(...given) {{ super(...(given.length ? given : [Real.now() + by])); }}
        static now() {{ return Real.now() + by; }}
      }};
    }})();"""


# How wrong the phone still takes its clock to be by mistake, after a minute at most: a
# busy post answers late, and half of that may go into what is measured.
UNSURE = """async (truth) => {
  const { kept } = await import("/static/field/store.js");
  const unsure = async () => Math.abs((await kept("offset") ?? Infinity) - truth);
  for (let tries = 0; tries < 240 && await unsure() > 300; tries += 1) {
    await new Promise((go) => setTimeout(go, 250));
  }
  return unsure();
}"""


def test_two_phones_with_clocks_an_hour_apart_keep_the_true_order(post, phones):
    fast = phones("Phone fast", clock_moved(60))
    right = phones("Phone right")
    assert fast.evaluate(UNSURE, -60 * MINUTE) <= 300
    assert right.evaluate(UNSURE, 0) <= 300
    for page in (fast, right, fast):
        page.evaluate(FILL, 1)
        page.wait_for_timeout(700)
    for page in (fast, right):
        send_now(page)
        wait_empty(page)

    rows = [
        row
        for row in post.log()
        if row["device"] in ("Phone: Phone fast", "Phone: Phone right")
    ]
    in_time = [row["device"] for row in sorted(rows, key=lambda row: row["at"])]
    assert in_time == ["Phone: Phone fast", "Phone: Phone right", "Phone: Phone fast"]
    fast.locator("summary", has_text="This phone").click()
    assert "clock is 60 min ahead" in fast.inner_text("#device-words")


def test_the_browser_is_killed_and_opens_with_no_post(post, browser_type, tmp_path):
    options = CHROMIUM | PHONE
    profile = str(tmp_path / "profile")
    context = browser_type.launch_persistent_context(profile, **options)
    page = joined(context.pages[0], post, "Phone B")
    context.set_offline(True)
    page.evaluate(FILL, 4)
    page.evaluate("() => setTimeout(() => {}, 0)")
    context.close()
    post.kill()

    context = browser_type.launch_persistent_context(profile, **options)
    page = context.pages[0]
    page.goto(f"{post.url}/field/")
    page.wait_for_selector("button[data-kind='ph_paper']")
    assert "4 waiting" in page.inner_text("#open-waiting")
    post.start()
    send_now(page)
    wait_empty(page)
    context.close()
    assert Counter(row["device"] for row in post.log())["Phone: Phone B"] == 4


def test_what_a_revoked_phone_still_held_is_kept_apart(post, phones):
    page = phones("Phone R")
    page.context.set_offline(True)
    page.evaluate(FILL, 2)
    post.run(scripts.REVOKE)
    page.context.set_offline(False)
    send_now(page)
    page.wait_for_selector("text=has revoked this phone")
    assert page.evaluate(WAITING) == 0
    assert Counter(row["device"] for row in post.log())["Phone: Phone R"] == 0
    assert sum("was revoked" in each for each in post.run(scripts.HELD)) == 2
