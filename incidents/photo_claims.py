"""What a note's record says of its photo; the record's hash covers it. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from incidents.house_rules import Version, value_of

ORIGINAL_RULE: Final = "photo_original"


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """The photo as the record names it, whether or not its bytes have come."""

    sha256: str
    media_type: str
    size: int
    original: bool = False  # as the camera made it, with what that wrote into it

    @classmethod
    def of(cls, body: Mapping[str, Any]) -> "Claim | None":
        """The claim in a record's body; None where the record has no photo."""
        photo = body.get("photo")
        if not isinstance(photo, Mapping):
            return None
        return cls(
            sha256=str(photo["sha256"]),
            media_type=str(photo["type"]),
            size=int(photo["size"]),
            original=bool(photo.get("original", False)),
        )

    def body(self) -> dict[str, Any]:
        written = {"sha256": self.sha256, "type": self.media_type, "size": self.size}
        return written | ({"original": True} if self.original else {})


def most_original(version: Version | None) -> int:
    """Bytes up to which a photo is kept as the camera made it; 0 where none is."""
    megabytes = value_of(version, ORIGINAL_RULE) or Decimal(0)
    return int(megabytes * 1_000_000)
