"""Axe and a ruler: what every test of a page's look measures, and how."""

from axe_playwright_python.sync_playwright import Axe

SIZES = [(320, 568), (360, 740), (740, 360), (1024, 768), (1366, 768)]
# Of a phone and of a screen: what is held in a hand is asked for as such.
HELD, STANDING = SIZES[:3], SIZES[3:]
LOOKED_AT = [(360, 740), (1024, 768)]
# Every control that is to be seen, with its box and what says which it is.
BOXES = """() => [...document.querySelectorAll(
    'main a, main button, main summary, main input, main select, main textarea, .bar a'
)].filter((node) => node.type !== 'hidden' && node.checkVisibility()
    // What leads somewhere in a drawing stands in the table beneath it again.
    && !node.closest('svg')).map((node) => {
    const box = node.getBoundingClientRect();
    return {
        what: node.tagName + ' ' + (node.id || node.name || node.textContent.trim()),
        left: box.left, top: box.top + scrollY, right: box.right, bottom: box.bottom + scrollY,
        width: box.width, height: box.height,
        fixed: Boolean(node.closest('.save-bar, .bar')),
    };
})"""
AXE = {
    "resultTypes": ["violations"],
    "runOnly": {
        "type": "tag",
        "values": [
            "wcag2a",
            "wcag2aa",
            "wcag21a",
            "wcag21aa",
            "wcag22aa",
            "best-practice",
        ],
    },
    "rules": {
        # Enough by AAA is enough by AA.
        "color-contrast": {"enabled": False},
        "color-contrast-enhanced": {"enabled": True},
        "target-size": {"enabled": True},
    },
}
# What the night can change, and nothing else does.
IN_THE_DARK = {
    "resultTypes": ["violations"],
    "runOnly": {"type": "rule", "values": ["color-contrast-enhanced"]},
}
AXE_SCRIPT = Axe().axe_script
VIOLATIONS = """(options) => axe.run(options).then((result) =>
    result.violations.flatMap((violation) => violation.nodes.map((node) =>
        [violation.id, node.target, (node.failureSummary || '').slice(0, 160)])))"""


# As the device asks for it, or as it was chosen on the page.
NIGHT_ON_PAGE = """() => {
    const root = document.documentElement;
    if (root.dataset.light) root.dataset.light = 'night';
}"""


def small(boxes, least):
    return [
        (box["what"], round(box["width"]), round(box["height"]))
        for box in boxes
        if box["height"] < least - 0.5 or box["width"] < min(least, 72) - 0.5
    ]


def gaps(boxes):
    """Pairs of controls that lie closer than 12 px to each other."""
    close = []
    for index, one in enumerate(boxes):
        for other in boxes[index + 1 :]:
            if one["fixed"] != other["fixed"]:
                continue
            across = max(one["left"], other["left"]) - min(one["right"], other["right"])
            down = max(one["top"], other["top"]) - min(one["bottom"], other["bottom"])
            nested = across < 0 and down < 0
            if not nested and max(across, down) < 11.5:
                close.append((one["what"], other["what"], round(across), round(down)))
    return close


def problems(page):
    """What axe finds by day, and what depends on colours by night.

    The bar at the foot is out of the way of what lies under it. Afterwards it is day.
    """
    page.evaluate(
        "() => document.querySelectorAll('.bar, .save-bar').forEach("
        "(bar) => bar.style.setProperty('position', 'static'))"
    )
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found = page.evaluate(VIOLATIONS, AXE)
    chosen = page.evaluate("() => document.documentElement.dataset.light")
    page.emulate_media(color_scheme="dark")
    page.evaluate(NIGHT_ON_PAGE)
    found += [("by night", *each) for each in page.evaluate(VIOLATIONS, IN_THE_DARK)]
    page.emulate_media(color_scheme="light")
    if chosen:
        page.evaluate(
            "(it) => { document.documentElement.dataset.light = it; }", chosen
        )
    return found


def problems_at(page, sizes=LOOKED_AT):
    """What axe finds in each size."""
    found = []
    for width, height in sizes:
        page.set_viewport_size({"width": width, "height": height})
        found += [(width, *each) for each in problems(page)]
    return found


def too_wide(page, sizes):
    """Each width with what the page needs, where that is more."""
    found = []
    for width, height in sizes:
        page.set_viewport_size({"width": width, "height": height})
        needed = page.evaluate("() => document.documentElement.scrollWidth")
        found += [(width, needed)] if needed > width else []
    return found


def low(page):
    return [
        (box["what"], round(box["height"]))
        for box in page.evaluate(BOXES)
        if box["height"] < 47.5
    ]
