"""The report built and signed, against the same rows as one plain table of strings."""

import io
import subprocess
import sys
from datetime import UTC, datetime

from bench.measuring import in_turn, is_quick, say
from bench.worksheets import worksheet
from incidents.documents import dumps
from reports import after_action, signing
from reports.data import ReportData
from reports.from_worksheet import report_data
from screening.worksheet import load_json

ROW_HEIGHT = 11
ROWS_ON_A_PAGE = 60
PASSPHRASE = "only-for-this-benchmark"


def main() -> None:
    lengths = (20, 60) if is_quick(__doc__ or "") else (1_000, 5_000)
    print(
        "The floor is a table of plain strings, row heights fixed, in no font of ours."
    )
    built: list[float] = []
    for length in lengths:
        data = report_data(load_json(dumps(worksheet(length))))
        after_action.build(data)  # once before: imports and fonts
        taken = in_turn(
            {
                "plain": lambda data=data: plain_table(data),  # type: ignore[misc]
                "report": lambda data=data: after_action.build(data),  # type: ignore[misc]
            },
            rounds=3,
        )
        built.append(taken["report"])
        say(f"  {length} entries", taken["report"], length, taken["plain"])
        size = len(after_action.build(data))
        print(f"  {length} entries make {size / 1024:.0f} KiB", flush=True)
    print(
        f"  {lengths[1] / lengths[0]:.0f} times the entries take "
        f"{built[1] / built[0]:.1f} times the work"
    )
    memory(lengths)
    sign(after_action.build(report_data(load_json(dumps(worksheet(lengths[0]))))))


def memory(lengths: tuple[int, int]) -> None:
    """The most memory that a process of its own holds, against one with a short log."""
    floor = held_by(1)
    for length in lengths:
        held = held_by(length)
        print(
            f"  {length} entries: {held / 1024:.0f} MiB at most,"
            f" {held / floor:.2f} times a log of one entry"
        )


def held_by(length: int) -> int:
    """Kibibytes, as Linux counts them."""
    done = subprocess.run(
        [sys.executable, "-c", MADE_APART.format(length=length)],
        capture_output=True,
        text=True,
        check=True,
    )
    return int(done.stdout.split()[-1])


MADE_APART = """
import resource
from bench.worksheets import worksheet
from incidents.documents import dumps
from reports import after_action, archival
from reports.from_worksheet import report_data
from screening.worksheet import load_json
text = dumps(worksheet({length})).encode()
after_action.build(
    report_data(load_json(text)), attachments=archival.sources(text, text)
)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def plain_table(data: ReportData) -> bytes:
    from reportlab.platypus import PageBreak, SimpleDocTemplate, Table

    rows = [
        (
            str(row.seq),
            f"{row.at:%H:%M:%S}",
            row.team[:20],
            row.place[:20],
            row.words[:60],
            row.action.label if row.action is not None else "",
        )
        for row in data.timeline
    ]
    story = []
    for start in range(0, len(rows), ROWS_ON_A_PAGE):
        part = rows[start : start + ROWS_ON_A_PAGE]
        story += [Table(part, rowHeights=[ROW_HEIGHT] * len(part)), PageBreak()]
    out = io.BytesIO()
    SimpleDocTemplate(out, invariant=1).build(story)
    return out.getvalue()


def sign(pdf: bytes) -> None:
    """The floor is one SHA-256 signature by the key alone, over the same bytes."""
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec

    at = datetime(2026, 3, 4, 20, 0, tzinfo=UTC)
    county = "Example County"
    root = signing.make_root(agency=county, passphrase=PASSPHRASE, at=at)
    signer = signing.issue_signer(
        root=root, agency=county, passphrase=PASSPHRASE, at=at
    )
    key = ec.generate_private_key(ec.SECP256R1())

    def sealed() -> bytes:
        return signing.sign_pdf(pdf, signer, passphrase=PASSPHRASE, at=at).pdf

    sealed()
    taken = in_turn(
        {
            "bare": lambda: key.sign(pdf, ec.ECDSA(hashes.SHA256())),
            "sealed": sealed,
        }
    )
    say("  signed (PAdES)", taken["sealed"], 1, taken["bare"])


if __name__ == "__main__":
    main()
