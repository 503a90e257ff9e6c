"""The end: who stands for the record, the chain's head in print, the signature's box."""

from typing import Any, Final

from reports import layout
from reports.clock import moment
from reports.data import ReportData, SignOff
from reports.tables import PagedTable, Row

HEAD_TITLE: Final = "The record"
HEAD_LABEL: Final = "Chain head: record"


def head_line(seq: int, sha256: str) -> str:
    """The line that `reports.verifying` looks for in print."""
    return f"{HEAD_LABEL} {seq}, SHA-256 {sha256}"


def sign_off(data: ReportData, width: float) -> list[Any]:
    """Names, lines for paper, the head, and the box at the foot of the page."""
    # The whole of it stands on one page, so that the signature covers what it signs.
    room = 340.0 + 32 * len(data.sign_offs) + 16 * len(data.missing_sign_offs)
    parts: list[Any] = [layout.page_break_unless(min(room, 600.0))]
    parts += layout.heading("Sign-off")
    for missing in data.missing_sign_offs:
        parts += [layout.Notice("Not signed off.", missing), layout.spacer(4)]
    rows = [row for sign in data.sign_offs for row in _rows(sign, data)]
    if rows:
        widths = layout.shares(width, (0.34, 0.24, 0.42))
        parts.append(PagedTable(("Meaning", "Name", "Time"), rows, widths, layout.BODY))
    else:
        parts += layout.body("Nobody has signed off yet.")
    return [*parts, layout.HandSignatures(), *_record(data), layout.SignatureBox()]


def _rows(sign: SignOff, data: ReportData) -> list[Row]:
    """Who stands for it; a dissent, and what came later, right below."""
    seen = f"\nrecords 1 to {sign.covers}" if sign.covers else ""
    cells = (sign.meaning, sign.name, moment(sign.at, data.zone) + seen)
    rows = [Row(cells=cells, bold=frozenset({1}))]
    if sign.dissent:
        words = f"Dissents: {sign.dissent}"
        rows.append(Row(cells=("", words), ruled=False))
    if sign.replaced_by:
        words = f"Replaced by the same person's answer in record {sign.replaced_by}."
        rows.append(Row(cells=("", words), ruled=False))
    if sign.after:
        words = f"{sign.after} record{'s' if sign.after > 1 else ''} came after this."
        rows.append(Row(cells=("", words), ruled=False))
    return rows


def _record(data: ReportData) -> list[Any]:
    parts = layout.part_heading(HEAD_TITLE)
    if data.head is None:
        return [
            *parts,
            *layout.body("Printed from a worksheet file that has no chain."),
        ]
    parts += layout.body(head_line(data.head.seq, data.head.sha256))
    return [
        *parts,
        *layout.small(
            "Each record of the log holds the hash of the one before it. Attached to this"
            " file are worksheet.json, the whole worksheet as it was screened, and"
            " chain.json, the records as they were hashed; hashing them again must give"
            " the head printed here. A copy of this line kept elsewhere shows a log that"
            " was cut off or written anew."
        ),
    ]
