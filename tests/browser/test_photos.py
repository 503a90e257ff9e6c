"""Photos on a phone: small, bare, kept without a link, in the record exactly once."""

import base64
import hashlib
import io
from pathlib import Path

import pytest
from PIL import Image

from incidents import pictures
from tests.browser import phones
from tests.browser import post as scripts
from tests.browser.chromium import CHROMIUM
from tests.browser.phones import PHONE, send_now
from tests.photos import MODEL, label, twelve_megapixels

STORED = """
import base64, json
from incidents.models import Incident
from incidents.services import chain
incident = Incident.objects.order_by("-opened_at").first()
rows = incident.entries.filter(kind="note", device="Phone: {name}").order_by("seq")
photos = {{photo.sha256: photo for photo in incident.photos.all()}}
found = []
for row in rows:
    body = json.loads(row.body)
    photo = photos.get(body["photo"]["sha256"])
    content = base64.b64encode(bytes(photo.content)).decode() if photo else None
    found.append({{"body": body, "content": content}})
problem = chain.verify(incident)
print(json.dumps({{"found": found, "problem": problem and str(problem)}}))
"""
CHANGE_SOP = """
from datetime import timedelta
from django.utils import timezone
from incidents import services
from incidents.models import Incident, SopProfile
incident = Incident.objects.order_by("-opened_at").first()
services.change_sop(
    incident_id=incident.pk, person=incident.opened_by, seen=incident.sop_id,
    reason="Photos are evidence", at=timezone.now(),
    sop=SopProfile.objects.create(
        agency=incident.agency, name="Photos", version="{megabytes}",
        created_at=timezone.now(), effective_on=timezone.now().date() - timedelta(days=1),
        document='{{"name":"Photos","version":"{megabytes}","limits":{{}}}}',
        house_rules='{{"photo_original":{{"value":{megabytes},"unit":"MB"}}}}'))
print("{{}}")
"""
COUNT = """
from incidents.models import Photo
print(Photo.objects.count())
"""
PATIENCE = 120_000


@pytest.fixture
def phone(browser, post, request):
    """A phone that has joined; `notes` finds what it sent by the name of the test."""
    context = browser.new_context(base_url=post.url, **PHONE)
    yield joined(context.new_page(), post, name_of(request))
    context.close()


@pytest.fixture
def notes(post, request):
    """What came of the test's phone so far."""
    return lambda: stored(post, name_of(request))


def name_of(request):
    return request.node.originalname.removeprefix("test_")[:50]


def joined(page, post, name):
    """Joined and ready for no link. On a busy machine the post may be slower than a phone
    waits; then it asks for another code, as its page says."""
    page.set_default_timeout(PATIENCE)
    for _ in range(4):
        page.goto("about:blank")
        page.goto(f"{post.url}/field/#join={post.offer(name)['secret']}")
        page.wait_for_selector("button[data-kind='note'], #join-words:not([hidden])")
        if page.locator("button[data-kind='note']").count():
            break
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    return page


def wait_empty(page):
    phones.wait_empty(page, PATIENCE / 1000)


def stored(post, name):
    """The notes of a phone with the bytes of their photos; the chain must hold."""
    answer = post.run(STORED.format(name=name))
    assert answer["problem"] is None
    return [
        (each["body"], each["content"] and base64.b64decode(each["content"]))
        for each in answer["found"]
    ]


def take(page, content, media_type="image/jpeg"):
    """What the camera gives; waits until the phone has made it smaller."""
    page.locator("button[data-kind='note']").tap()
    page.set_input_files(
        "#photo-file",
        {"name": "IMG_0001", "mimeType": media_type, "buffer": content},
    )
    page.wait_for_selector("#photo-words:has-text('kB')")


def save(page, words="UN 1017"):
    page.locator("input[name='shows'][value='Label or placard']").check(force=True)
    page.get_by_label("In words").fill(words)
    page.locator("#save").tap()
    page.wait_for_selector(".say-back")


def test_a_photo_outlives_a_cut_link_and_a_closed_browser(post, browser_type, tmp_path):
    profile = str(tmp_path / "profile")
    context = browser_type.launch_persistent_context(profile, **CHROMIUM, **PHONE)
    page = joined(context.pages[0], post, "Phone of the closed browser")
    context.set_offline(True)
    taken = label(3000, 2000, exif=True, orientation=6)
    take(page, taken)
    save(page)
    assert "1 waiting" in page.inner_text("#open-waiting")
    context.close()
    post.kill()

    context = browser_type.launch_persistent_context(profile, **CHROMIUM, **PHONE)
    page = context.pages[0]
    page.set_default_timeout(PATIENCE)
    page.goto(f"{post.url}/field/")
    page.wait_for_selector("button[data-kind='note']")
    assert "1 waiting" in page.inner_text("#open-waiting")
    post.start()
    send_now(page)
    wait_empty(page)
    send_now(page)
    context.close()

    ((body, content),) = stored(post, "Phone of the closed browser")
    assert body["text"] == "Label or placard, UN 1017"
    assert body["photo"]["sha256"] == hashlib.sha256(content).hexdigest()
    picture = pictures.look_at(content)
    assert picture.metadata == ()
    assert MODEL.encode() not in content
    assert (picture.width, picture.height) == (1067, 1600), "upright, at most 1600"
    right = Image.open(io.BytesIO(content)).convert("RGB").getpixel((1050, 800))
    assert right[0] > 150
    assert right[1] < 60, "the red band of the label, where one sees it"


def test_twelve_megapixels_go_as_less_than_500_kb(phone, notes):
    take(phone, twelve_megapixels(quality=90))
    save(phone)
    wait_empty(phone)

    ((body, content),) = notes()
    assert len(content) < 500_000
    assert body["photo"]["size"] == len(content)


def test_the_entry_comes_before_its_photo_and_readings_do_not_wait_for_it(phone, notes):
    phone.context.route("**/field/link/photo/", lambda route: None)  # hangs
    take(phone, label(810))
    save(phone)
    phone.wait_for_function(
        "() => document.querySelector('#open-waiting').textContent.includes('1 waiting')"
    )
    phone.get_by_role("button", name="Other kind").tap()
    phone.locator("button[data-kind='ph_paper']").tap()
    phone.locator("input[name='reading'][value='2']").tap()
    phone.locator("#save-wet").tap()
    phone.wait_for_selector(".say-back:has-text('pH 2')")
    phone.wait_for_selector("text=The post has it.")

    ((body, content),) = notes()
    assert body["text"] == "Label or placard, UN 1017"
    assert content is None
    phone.locator("#open-waiting").tap()
    assert "The post has the entry; its photo waits" in phone.inner_text("#waiting")


def test_the_answer_to_a_photo_is_lost_and_it_is_kept_once(phone, notes):
    lost = []

    def lose_once(route):
        if lost:
            route.continue_()
            return
        route.fetch()
        lost.append(1)
        route.abort()

    phone.context.route("**/field/link/photo/", lose_once)
    take(phone, label(811))
    save(phone)
    wait_empty(phone)

    assert lost
    ((_, content),) = notes()
    assert content is not None


def test_a_refused_photo_stays_with_its_reason_and_can_be_taken_again(phone, notes):
    """The bytes are spoilt on their way into the phone's store."""
    phone.context.set_offline(True)
    take(phone, label(812))
    save(phone)
    phone.evaluate(
        """async () => {
          const store = await import("/static/field/store.js");
          const [entry] = await store.all();
          await store.put({ ...entry, photo: new Blob(["spoilt"], { type: "image/jpeg" }) });
        }"""
    )
    phone.context.set_offline(False)
    send_now(phone)
    phone.wait_for_selector("#alarm:has-text('Not taken')", state="attached")
    phone.locator("#open-waiting").tap()
    assert "Photo not taken: expected the photo of the record" in phone.inner_text(
        "#waiting"
    )

    phone.locator("button[data-mend]").tap()
    assert phone.input_value("#id_words") == "UN 1017"
    phone.locator("#save").tap()
    assert "Take the photo first." in phone.inner_text("#not-saved")
    phone.set_input_files(
        "#photo-file",
        {"name": "IMG_0002", "mimeType": "image/jpeg", "buffer": label(801)},
    )
    phone.wait_for_selector("#photo-words:has-text('kB')")
    phone.locator("#save").tap()
    wait_empty(phone)

    first, second = notes()
    assert first[1] is None
    assert second[1] is not None


def test_what_is_no_picture_is_not_saved(phone, notes):
    phone.locator("button[data-kind='note']").tap()
    phone.set_input_files(
        "#photo-file",
        {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": b"no picture"},
    )
    phone.wait_for_selector("#photo-words:has-text('no picture that this phone')")
    phone.locator("input[name='shows'][value='Container']").check(force=True)
    phone.locator("#save").tap()

    assert "Take the photo first." in phone.inner_text("#not-saved")
    assert notes() == []


def test_a_photo_that_is_still_made_smaller_is_saved_whole(phone, notes):
    """Saved with the first tap after the camera: it waits for the bytes."""
    phone.locator("button[data-kind='note']").tap()
    phone.set_input_files(
        "#photo-file",
        {"name": "IMG", "mimeType": "image/jpeg", "buffer": twelve_megapixels()},
    )
    save(phone)
    wait_empty(phone)

    ((body, content),) = notes()
    assert body["photo"]["sha256"] == hashlib.sha256(content).hexdigest()


# Where the first choice stands in each frame, from when the camera has given its file.
WATCH = """() => {
    window.stood = [];
    const look = () => {
        const choice = document.querySelector("input[name='shows']").closest(".choice");
        window.stood.push(Math.round(choice.getBoundingClientRect().top + scrollY));
        requestAnimationFrame(look);
    };
    document.addEventListener("change", () => requestAnimationFrame(look), { once: true });
}"""


@pytest.mark.parametrize("width", [320, 360])
def test_what_a_thumb_is_on_its_way_to_stays_while_the_photo_is_made(phone, width):
    phone.set_viewport_size({"width": width, "height": 740})
    phone.locator("button[data-kind='note']").tap()
    phone.evaluate(WATCH)
    phone.set_input_files(
        "#photo-file",
        {"name": "IMG", "mimeType": "image/jpeg", "buffer": twelve_megapixels()},
    )
    phone.wait_for_selector("#photo-words:has-text('kB')")
    phone.wait_for_function(
        "(count) => stood.length > count", arg=phone.evaluate("stood.length")
    )

    assert len(set(phone.evaluate("stood"))) == 1


def test_two_taps_save_one_photo_and_the_last_one_taken_counts(phone, notes):
    phone.locator("button[data-kind='note']").tap()
    last = twelve_megapixels(exif=True)
    for content in (label(890), last):
        phone.set_input_files(
            "#photo-file",
            {"name": "IMG", "mimeType": "image/jpeg", "buffer": content},
        )
    phone.locator("input[name='shows'][value='Scene']").check(force=True)
    phone.evaluate(
        """() => { for (const tap of [1, 2]) document.getElementById("save").click(); }"""
    )
    phone.wait_for_selector(".say-back")
    wait_empty(phone)

    ((_, content),) = notes()
    assert pictures.look_at(content).width > 890, "the first one was 890 wide"


def test_where_the_sop_keeps_it_the_file_goes_as_the_camera_made_it(post, phone, notes):
    post.run(CHANGE_SOP.format(megabytes=12))
    known = """async () => {
        const { kept } = await import("/static/field/store.js");
        return (await kept("now")).photo_original;
    }"""
    for _ in range(120):  # the phone asks each five seconds
        if phone.evaluate(known) == 12_000_000:
            break
        phone.wait_for_timeout(500)
    taken = label(exif=True)
    take(phone, taken)
    assert "the SOP keeps that" in phone.inner_text("#photo-words")
    save(phone)
    wait_empty(phone)

    ((body, content),) = notes()
    assert content == taken
    assert body["photo"]["original"] is True
    post.run(CHANGE_SOP.format(megabytes=0))


def test_handed_over_it_is_a_file_that_the_entry_s_page_takes(phone, notes):
    phone.context.route("**/field/link/photo/", lambda route: route.abort())
    take(phone, label(813))
    save(phone)
    phone.locator("#open-waiting").tap()
    phone.wait_for_selector("text=its photo waits")
    files = []
    phone.on("download", lambda file: files.append(file))
    phone.get_by_role("button", name="Hand over as a file").tap()
    phone.wait_for_timeout(1000)

    ((body, content),) = notes()
    assert content is None
    (saved,) = [one for one in files if one.suggested_filename.startswith("photo-")]
    kept = Path(saved.path()).read_bytes()
    assert hashlib.sha256(kept).hexdigest() == body["photo"]["sha256"]


def test_a_revoked_phone_s_photo_comes_with_its_held_entry(post, phone, notes):
    before = post.run(COUNT)
    phone.context.set_offline(True)
    take(phone, label(814))
    save(phone)
    post.run(scripts.REVOKE)
    phone.context.set_offline(False)
    send_now(phone)
    wait_empty(phone)

    assert notes() == []
    assert post.run(COUNT) == before + 1
