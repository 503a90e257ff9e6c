"""Finding incidents among 10,000, against reading what is searched and nothing else.

The rows are those of a few invented incidents, kept many times under other names and
days. The floor is one statement on the raw connection that reads the searched column of
every row.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID
from zoneinfo import ZoneInfo

from bench.database import START, empty_database
from bench.measuring import in_turn, is_quick, say

if TYPE_CHECKING:
    from incidents.models import Agency, ArchiveRow, Person

ZONE = ZoneInfo("America/Chicago")
AT_ONCE = 500


def main() -> None:
    quick = is_quick(__doc__ or "")
    count, played = (200, 2) if quick else (10_000, 12)
    with empty_database():
        person = filled(count, played)
        cases = _cases(person)
        taken = in_turn(cases)
        size = _bytes()
    floor = taken["floor"]
    print(f"{count} incidents, {size / 1e6:.0f} MB of words; one search each.")
    say("  the floor: every word read", floor, 1)
    for name in cases:
        if name != "floor":
            say(f"  {name}", taken[name], 1, floor)


def filled(count: int, played: int) -> "Person":
    """So many incidents in the archive of one agency; its reviewer."""
    from incidents.models import Agency, Person

    agency = Agency.objects.create(
        name="Example County", slug="example", time_zone=ZONE.key
    )
    models = list(_played(agency, played))
    for start in range(0, count, AT_ONCE):
        _copied(models, agency, range(start, min(start + AT_ONCE, count)))
    return Person.objects.create(username="bench", agency=agency, may_review=True)


def _played(agency: "Agency", count: int) -> "Iterator[ArchiveRow]":
    """What the archive keeps of invented incidents, played as `make_archive` does."""
    from incidents.services import inventing
    from review.inventing import invent

    cast = inventing.cast_for(agency)
    for story in invent(incidents=count, entries=60, seed=1):
        yield inventing.play(story, cast).archived


def _copied(models: "Sequence[ArchiveRow]", agency: "Agency", numbers: range) -> None:
    from incidents.models import ArchiveRow, Incident

    incidents, rows = [], []
    for number in numbers:
        model = models[number % len(models)]
        at = START - timedelta(hours=7 * number)
        one = Incident(
            id=UUID(int=number + 1),
            agency=agency,
            name=f"{model.incident.name} {number}",
            location=model.incident.location,
            mission="other",
            opened_at=at,
            opened_by_id=model.incident.opened_by_id,
            closed_at=at + timedelta(hours=3),
            setup="{}",
        )
        incidents.append(one)
        kept = {
            field.attname: getattr(model, field.attname)
            for field in ArchiveRow._meta.concrete_fields
        }
        words = f"{model.words} word{number} number{number * 7}"
        rows.append(
            ArchiveRow(
                **kept | {"incident_id": one.pk, "opened_at": at, "words": words}
            )
        )
    Incident.objects.bulk_create(incidents)
    ArchiveRow.objects.bulk_create(rows)


def _cases(person: "Person") -> dict[str, Any]:
    from django.db import connection

    from incidents.selectors import Wanted, archive_page, archived, kept_figures
    from incidents.views.across import view_of

    def floor() -> None:
        with connection.cursor() as cursor:
            cursor.execute("SELECT sum(length(words)) FROM incidents_archiverow")
            cursor.fetchone()

    def page(**wanted: Any) -> Any:
        return lambda: archive_page(archived(person, Wanted(**wanted), ZONE), 1)

    def figures() -> None:
        view_of(kept_figures(archived(person, Wanted(), ZONE), ZONE), "year")

    return {
        "floor": floor,
        "the first page of all": page(),
        "a word that every incident has": page(text="the"),
        "parts of two words that one has": page(text="ord4999 umber34993"),
        "a word that none has": page(text="chrysanthemum"),
        "a place, a substance and a person": page(
            place="room", substance="chlor", person="linden"
        ),
        "a hazard, a rule and a verdict": page(hazard="acid_vapour", rule=1, worst=2),
        "the figures of all, drawn": figures,
    }


def _bytes() -> int:
    from django.db.models import Sum
    from django.db.models.functions import Length

    from incidents.models import ArchiveRow

    return int(ArchiveRow.objects.aggregate(all=Sum(Length("words")))["all"])


if __name__ == "__main__":
    main()
