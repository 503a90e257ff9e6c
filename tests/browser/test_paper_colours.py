"""The paper's colours on the phone, as people see them who see colours otherwise.

Number and word tell one colour from the next, not the hue: both must be legible in any
case. What is drawn is asked of Chromium, not of the style sheet.
"""

import pytest

from tests.browser.phones import PHONE, secret_for

# Source: Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of
# Color Vision Deficiency", IEEE TVCG 15(6), 2009: the tables for severity 1.0, which apply
# to linear RGB. From memory, and as several independent programs give them; the paper
# itself was not read. Grey: the relative luminance of WCAG 2.2.
SEEN_AS = {
    "normal": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
    "grey": ((0.2126, 0.7152, 0.0722),) * 3,
}
# WCAG 2.2, success criterion 1.4.3: 4.5:1 for text.
LEAST = 4.5
SWATCHES = """() => [...document.querySelectorAll('.ph [class*="ph-"]')].map((face) => {
    const part = (name) => {
        const node = face.querySelector(name);
        const style = getComputedStyle(node);
        const own = style.backgroundColor;
        const box = node.getBoundingClientRect();
        return {
            text: node.textContent, ink: style.color,
            ground: own === 'rgba(0, 0, 0, 0)' ? getComputedStyle(face).backgroundColor : own,
            size: parseFloat(style.fontSize), width: box.width, height: box.height,
        };
    };
    return {number: part('b'), word: part('small')};
})"""


def linear(channel):
    """WCAG 2.2, definition of relative luminance; IEC 61966-2-1."""
    share = channel / 255
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def luminance(colour, matrix):
    """Of `rgb(r, g, b)`, after it went through the eye that the matrix stands for."""
    parts = colour.removeprefix("rgb(").removesuffix(")").split(", ")
    rgb = [linear(int(part)) for part in parts]
    seen = [
        min(1, max(0, sum(a * b for a, b in zip(row, rgb, strict=True))))
        for row in matrix
    ]
    return sum(a * b for a, b in zip((0.2126, 0.7152, 0.0722), seen, strict=True))


def contrast(one, other, matrix):
    low, high = sorted((luminance(one, matrix), luminance(other, matrix)))
    return (high + 0.05) / (low + 0.05)


@pytest.fixture(params=["light", "dark"])
def swatches(browser, live_server, incident, request):
    """What is drawn for each pH, by the phone's page, by day and by night."""
    context = browser.new_context(
        base_url=live_server.url, color_scheme=request.param, **PHONE
    )
    page = context.new_page()
    page.goto(f"/field/#join={secret_for(incident)}")
    page.locator("button[data-kind='ph_paper']").tap()
    yield page.evaluate(SWATCHES)
    context.close()


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        pytest.param("rgb(0, 0, 0)", "rgb(255, 255, 255)", 21.0, id="WCAG: the most"),
        pytest.param("rgb(118, 118, 118)", "rgb(255, 255, 255)", 4.54, id="#767676"),
        pytest.param("rgb(119, 119, 119)", "rgb(255, 255, 255)", 4.48, id="#777777"),
    ],
)
def test_the_formula_gives_the_known_contrasts(one, other, ratio):
    """On white #767676 is the lightest grey of 4.5:1, and #777777 just fails."""
    assert round(contrast(one, other, SEEN_AS["normal"]), 2) == ratio


@pytest.mark.parametrize("eye", SEEN_AS)
def test_grey_stays_grey_for_every_eye(eye):
    """Rows that do not add up to one would tint what has no colour."""
    assert [round(sum(row), 3) for row in SEEN_AS[eye]] == [1, 1, 1]


def test_every_swatch_is_large_and_says_number_and_word(swatches):
    assert [one["number"]["text"] for one in swatches] == [str(n) for n in range(15)]
    assert [one["word"]["text"] for one in swatches] == [
        *["red"] * 4, "orange", *["yellow"] * 2, "green", *["blue-green"] * 2,
        *["blue"] * 3, *["dark blue"] * 2,
    ]  # fmt: skip
    assert len({one["number"]["ground"] for one in swatches}) == 15
    assert min(one["number"]["width"] for one in swatches) >= 98
    assert min(one["number"]["height"] for one in swatches) >= 40
    assert min(one["number"]["size"] for one in swatches) >= 24


@pytest.mark.parametrize("eye", SEEN_AS)
def test_number_and_word_are_legible_for_every_eye(swatches, eye):
    matrix = SEEN_AS[eye]

    faint = [
        (part["text"], round(ratio, 2))
        for swatch in swatches
        for part in swatch.values()
        if (ratio := contrast(part["ink"], part["ground"], matrix)) < LEAST
    ]

    assert len(swatches) == 15
    assert faint == []


@pytest.mark.parametrize("eye", ["protanopia", "deuteranopia", "tritanopia"])
def test_the_matrices_do_change_what_is_seen(swatches, eye):
    """Else the test above would say nothing of these eyes."""
    red = swatches[0]["number"]["ground"]

    changed = luminance(red, SEEN_AS[eye]) / luminance(red, SEEN_AS["normal"])

    assert abs(changed - 1) > 0.1
