"""The report's typeface: two cuts, made once, the same everywhere."""

import io

from fontTools.ttLib import TTFont

from reports import fonts


def test_the_cut_is_fixed_and_holds_the_signs_of_the_trade():
    font = TTFont(io.BytesIO(fonts.font_bytes(fonts.REGULAR)))

    assert "fvar" not in font
    assert set(map(ord, "°Δµ–−→←↑↓↖↗↘↙≥≤≈■▲")) <= set(font.getBestCmap())


def test_a_cut_is_made_again_byte_for_byte():
    cut = fonts.cut(fonts._source(), fonts.BOLD)

    assert cut == fonts.font_bytes(fonts.BOLD)


def test_a_cache_that_cannot_be_written_is_no_error(tmp_path):
    a_file = tmp_path / "file"
    a_file.write_bytes(b"")

    fonts._keep(a_file / "font.ttf", b"font")

    assert a_file.read_bytes() == b""


def test_a_cut_is_kept_whole(tmp_path):
    fonts._keep(tmp_path / "fonts" / "font.ttf", b"font")

    assert [path.name for path in (tmp_path / "fonts").iterdir()] == ["font.ttf"]
    assert (tmp_path / "fonts" / "font.ttf").read_bytes() == b"font"
