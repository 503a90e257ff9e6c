"""What is not ready yet, in the words of a page, each leading to where it is mended."""

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse

from command.parts import PARTS
from command.scene import Lack
from incidents.models import Incident
from screening.verdicts import Action


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    title: str
    words: str
    source: str
    stops: bool
    href: str  # "" where no form mends it


def missing_of(lacks: Iterable[Lack], incident: Incident) -> list[Missing]:
    return [
        Missing(
            title=lack.need.title,
            words=lack.words,
            source=lack.source,
            stops=lack.action >= Action.STOP,
            href=_where(lack, incident),
        )
        for lack in lacks
    ]


def _where(lack: Lack, incident: Incident) -> str:
    part = lack.need.part
    if part == "team-new":
        return reverse("incidents:team-new", args=(incident.pk,))
    if lack.key == "blocks_missing":
        return reverse("incidents:site-safety-plan", args=(incident.pk,))
    if part == "line":
        return reverse("incidents:line", args=(incident.pk,))
    if part == "medical-checks":
        return reverse("incidents:medical", args=(incident.pk,))
    if part not in PARTS:
        return ""
    url = reverse("incidents:plan-part", args=(incident.pk, part))
    return f"{url}?{urlencode({'item': lack.item})}" if lack.item else url
