"""A photo's bytes: what they are, what is written into them, the copy for the record."""

import io
import struct
import zlib

import pytest
from PIL import Image, PngImagePlugin

from incidents import pictures
from incidents.picture_parts import TRAILING
from tests.photos import MODEL, label, saved, twelve_megapixels

KINDS = [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")]


def opened(content):
    return Image.open(io.BytesIO(content))


@pytest.mark.parametrize(("kind", "media_type"), KINDS)
def test_a_plain_photo_holds_nothing_beside_the_picture(kind, media_type):
    picture = pictures.look_at(label(kind=kind))

    assert picture.media_type == media_type
    assert (picture.width, picture.height) == (800, 600)
    assert picture.metadata == ()


@pytest.mark.parametrize(
    ("kind", "named"), [("JPEG", "EXIF"), ("PNG", "eXIf"), ("WEBP", "EXIF")]
)
def test_what_a_camera_writes_is_found(kind, named):
    assert pictures.look_at(label(kind=kind, exif=True)).metadata == (named,)


def test_xmp_a_comment_and_a_film_behind_the_picture_are_found():
    with_xmp = saved(opened(label()), xmp=b"<x:xmpmeta/>")
    with_comment = saved(opened(label()), comment=b"by the tank")
    progressive = saved(opened(label()), progressive=True)

    assert pictures.look_at(with_xmp).metadata == ("XMP",)
    assert pictures.look_at(with_comment).metadata == ("a comment",)
    assert pictures.look_at(progressive + b"ftypmp4").metadata == (TRAILING,)


def test_words_in_a_png_are_found_behind_the_picture_too():
    info = PngImagePlugin.PngInfo()
    info.add(b"tEXt", b"Where\0north vault")
    info.add(b"loCa", b"north vault", after_idat=True)

    picture = pictures.look_at(saved(opened(label()), "PNG", pnginfo=info))

    assert picture.metadata == ("tEXt", "loCa")


def test_a_colour_profile_and_a_progressive_picture_are_no_metadata():
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    content = saved(opened(label()), icc_profile=profile, progressive=True)

    assert pictures.look_at(content).metadata == ()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        pytest.param(b"", "JPEG, PNG or WebP", id="nothing"),
        pytest.param(b"%PDF-1.7", "JPEG, PNG or WebP", id="a PDF"),
        pytest.param(b"<svg onload='x()'/>", "JPEG, PNG or WebP", id="an SVG"),
        pytest.param(label(kind="GIF"), "JPEG, PNG or WebP", id="a GIF"),
        pytest.param(label()[:3000], "cut short", id="half a JPEG"),
        pytest.param(label(kind="PNG")[:900], "cut short", id="half a PNG"),
        pytest.param(label(kind="WEBP")[:300], "photo", id="half a WebP"),
    ],
)
def test_what_is_no_whole_picture_is_refused(content, words):
    with pytest.raises(pictures.PictureError, match=words):
        pictures.look_at(content)


@pytest.mark.parametrize("side", [7_800, 60_000])
def test_a_picture_that_unpacks_to_gigabytes_is_refused_unopened(side):
    """Only its head is there, with a size that no camera has."""
    head = b"IHDR" + struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    checked = head + struct.pack(">I", zlib.crc32(head))
    small = label(kind="PNG")
    bomb = small[:12] + checked + small[33:]

    with pytest.raises(pictures.PictureError, match="million points"):
        pictures.look_at(bomb)


def test_the_copy_is_small_upright_and_bare():
    copy = pictures.scaled(twelve_megapixels(exif=True, orientation=6))
    picture = pictures.look_at(copy)

    assert (picture.width, picture.height) == (1200, 1600)
    assert picture.metadata == ()
    assert MODEL.encode() not in copy


def test_a_label_on_its_side_is_put_upright():
    """EXIF orientation 6: the stored top is the right-hand side as one sees it."""
    copy = opened(pictures.scaled(label(exif=True, orientation=6)))

    red, white = copy.getpixel((copy.width - 20, 400)), copy.getpixel((20, 400))
    assert red[0] > 150
    assert red[1] < 60
    assert min(white) > 240


@pytest.mark.parametrize("mode", ["RGBA", "P", "L", "CMYK"])
def test_a_copy_of_any_colours_can_be_printed(mode):
    kind = "JPEG" if mode in ("L", "CMYK") else "PNG"

    copy = opened(pictures.scaled(label(kind=kind, mode=mode)))

    assert copy.mode in ("RGB", "L")
    pixel = copy.convert("RGB").getpixel((700, 550))
    assert min(pixel) > 240


def test_the_same_photo_gives_the_same_copy():
    content = label(exif=True)

    assert pictures.scaled(content) == pictures.scaled(content)
