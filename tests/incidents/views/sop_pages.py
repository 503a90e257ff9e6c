"""What the tests of the SOP's pages share."""

import re

from django.utils import timezone

from incidents.forms.sop import Start, VersionForm
from incidents.selectors import profiles as read
from incidents.services import profiles


def today(person):
    return read.today_of(person.agency, timezone.now())


def add(person, version="1", **changes):
    draft = {
        "name": "Example County SOP",
        "approved_by": "Chief O. Lark",
        "effective_on": today(person),
    } | changes
    return profiles.add_version(
        person=person, draft=profiles.Draft(version=version, **draft), at=timezone.now()
    )


def sent(person, base=None, **changes):
    """What a browser sends for the form as it stands, with some fields changed."""
    name = base.name if base else "Example County SOP"
    start = Start(
        raws=read.raw_values(base),
        reasons=base.reasons_given if base else {},
        name=name,
        version=profiles.next_version(person.agency, name),
        today=today(person),
    )
    form = VersionForm(start=start)
    data = {field.html_name: field.value() or "" for field in form}
    return data | {"approved_by": "Chief O. Lark"} | changes


def text_of(page):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.text))
