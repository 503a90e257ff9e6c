"""The appendix of photos: what is printed of each, byte for byte, and what never came."""

import hashlib
import io
import shutil
import subprocess

import pytest
from PIL import Image, ImageFile
from pyhanko.pdf_utils.reader import PdfFileReader

from reports.after_action import build
from reports.data import PhotoLine
from reports.reading import page_texts
from tests.photos import label, saved
from tests.reports.samples import at, sample


def line(content=b"", **changes):
    """A photo whose bytes came, unless there are none."""
    wide, high = Image.open(io.BytesIO(content)).size if content else (0, 0)
    given = {
        "seq": 7,
        "at": at(3),
        "author": "J. Mora",
        "device": "Phone: Alder's phone",
        "words": "Label or placard, UN 1017",
        "team": "Entry 1",
        "place": "tank room",
        "sha256": hashlib.sha256(content or b"lost").hexdigest(),
        "size": len(content) or 312_000,
        "picture": content,
        "pixels_wide": wide,
        "pixels_high": high,
        "as_kept": bool(content),
    }
    return PhotoLine(**(given | changes))


def words_of(pdf):
    return " ".join(" ".join(page_texts(pdf)).split())


def pictures_in(pdf):
    """The streams of all images of the file, each once, as they lie in it."""
    reader = PdfFileReader(io.BytesIO(pdf))
    found = {}
    for page in reader.root["/Pages"]["/Kids"]:
        objects = page.get_object()["/Resources"].get("/XObject", {})
        for name in objects:
            image = objects[name]
            if image["/Subtype"] == "/Image":
                found[name] = image.encoded_data
    return list(found.values())


def test_a_photo_stands_with_its_record_and_hash():
    content = label()

    pdf = build(sample(photos=(line(content),)))

    words = words_of(pdf)
    assert "Record 7" in words
    assert "Label or placard, UN 1017, Entry 1, tank room" in words
    assert "4 March 2026 14:03:00 CST (UTC−06:00), by J. Mora, Phone: Alder's" in words
    assert f"SHA-256 {hashlib.sha256(content).hexdigest()}" in words
    assert "smaller copy" not in words


def test_its_bytes_lie_in_the_file_as_they_are():
    colour, grey = label(), label(kind="JPEG", mode="L")

    pdf = build(
        sample(photos=(line(colour), line(grey, seq=8, grey=True), line(colour, seq=9)))
    )

    assert sorted(pictures_in(pdf)) == sorted([colour, grey])


def test_one_that_never_came_is_named_by_its_hash():
    words = words_of(build(sample(photos=(line(),))))

    assert "Photo not received." in words
    assert hashlib.sha256(b"lost").hexdigest() in words


def test_what_else_is_to_be_said_of_it_is_said():
    copy = line(label(), as_kept=False, size=9_000_000)
    taken_back = line(label(801), seq=8, taken_back="wrong drum, record 9")
    broken = line(seq=9, broken=True)

    words = words_of(build(sample(photos=(copy, taken_back, broken))))

    assert "Printed from a smaller copy; the photo itself has 9000000 bytes." in words
    assert "Taken back: wrong drum, record 9." in words
    assert "What was received is no picture any more." in words


def test_a_report_without_photos_has_no_such_part():
    assert "A photo is not judged" not in words_of(build(sample()))


def test_the_same_photos_give_the_same_bytes():
    photos = (line(label()), line(seq=8))

    assert build(sample(photos=photos)) == build(sample(photos=photos))


def test_markup_in_the_words_is_printed_and_not_obeyed():
    words = words_of(build(sample(photos=(line(label(), words="<b>hot</b> & x"),))))

    assert "<b>hot</b> & x" in words


@pytest.mark.parametrize(("wide", "high"), [(1600, 1200), (900, 1600), (1600, 90)])
def test_a_photo_of_any_shape_fits_the_page(wide, high):
    photos = tuple(line(label(wide, high), seq=number) for number in range(5))

    pages = page_texts(build(sample(photos=photos)))

    assert sum("A photo is not judged" in page for page in pages) == 1


def test_thirty_photos_take_their_own_bytes_and_none_is_unpacked(monkeypatch):
    """As points, 30 photos of 1600 x 1200 would take 170 MB."""
    photos = tuple(line(label(1600, 1200 + n), seq=n) for n in range(30))
    without = len(build(sample()))

    def unpacked(image):
        raise AssertionError("a photo was unpacked")

    monkeypatch.setattr(Image.Image, "load", unpacked)
    monkeypatch.setattr(ImageFile.ImageFile, "load", unpacked)
    pdf = build(sample(photos=photos))

    together = sum(len(photo.picture) for photo in photos)
    assert len(pictures_in(pdf)) == 30
    assert len(pdf) < without + together + 100_000


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm is not here")
def test_the_printed_page_shows_the_photo_the_right_way_up(tmp_path):
    """Drawn by another program: the upper half is red, the lower one blue."""
    half = Image.new("RGB", (800, 300), (200, 0, 0))
    whole = Image.new("RGB", (800, 600), (0, 0, 200))
    whole.paste(half)
    pdf = build(sample(photos=(line(saved(whole)),)))
    (page,) = [n for n, w in enumerate(page_texts(pdf), 1) if "A photo is not" in w]
    file = tmp_path / "report.pdf"
    file.write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-r", "40", "-f", str(page), "-l", str(page), "-png", file, "p"],
        check=True,
        cwd=tmp_path,
    )
    (drawn,) = tmp_path.glob("p*.png")
    image = Image.open(drawn).convert("RGB")

    column = [image.getpixel((image.width // 3, y)) for y in range(image.height)]
    red = [y for y, (r, g, b) in enumerate(column) if r > 150 and max(g, b) < 80]
    blue = [y for y, (r, g, b) in enumerate(column) if b > 150 and max(r, g) < 80]

    # 250 points at 40 dots an inch are 139 rows.
    assert len(red) == pytest.approx(69, abs=3)
    assert len(blue) == pytest.approx(69, abs=3)
    assert red[-1] < blue[0]
