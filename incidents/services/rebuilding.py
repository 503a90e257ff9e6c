from uuid import UUID

from incidents import engine
from incidents.services import findings
from incidents.services.archive import keep_in_archive
from incidents.services.locking import lock_row, one_transaction, save_head


def rebuild(*, incident_id: UUID, write: bool = False) -> findings.Difference:
    """Judge the whole log again and compare; with `write` bring the findings to it.

    What is added or superseded is put down to the last entry of the log. With `write`
    the archive's row is made anew, too.
    """
    with one_transaction():
        incident = lock_row(incident_id)
        _, found = engine.replay(list(incident.entries.order_by("seq")))
        difference = findings.compare(incident, found)
        if write and difference:
            last = incident.entries.select_related("author").get(seq=incident.head_seq)
            findings.reconcile(
                incident=incident, found=found, raised_by=last, by=last.author
            )
            save_head(incident)
        if write:
            keep_in_archive(incident)
    return difference
