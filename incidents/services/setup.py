"""The set-up of an incident: its text, its names, its teams, and whether the engine reads it."""

from collections.abc import Mapping
from typing import Any, Final

from incidents import engine
from incidents.documents import dumps, loads
from incidents.models import APP_KINDS, EntryTeam, Incident, Member
from incidents.services.errors import EntryRefusedError
from incidents.services.typed import refused, typed
from screening.worksheet import WorksheetErrors, load_json, parse_worksheet

FORMAT: Final = "hazmat-incident-worksheet"


def setup_of(about: Mapping[str, Any], **parts: Any) -> dict[str, Any]:
    """The worksheet document without its log; what is not known is left out."""
    return {
        "format": FORMAT,
        "version": 1,
        "incident": {key: value for key, value in about.items() if value is not None},
        **{key: value for key, value in parts.items() if value is not None},
    }


def without_names(setup: dict[str, Any]) -> tuple[dict[str, Any], dict[str, str]]:
    """Take the names out, which the worksheet document has no place for.

    Their keys are "team" and "team/member", by the ids.
    """
    names: dict[str, str] = {}
    teams = []
    for position, team in enumerate(setup["teams"]):
        plain = dict(team)
        key = str(plain.get("id", ""))
        names[key] = named(
            plain.pop("name", "") or key, f"/teams/{position}/name", required=False
        )
        members = []
        for place, member in enumerate(plain.get("members", ())):
            bare = dict(member)
            of_member = str(bare.get("id", ""))
            names[f"{key}/{of_member}"] = named(
                bare.pop("name", "") or of_member,
                f"/teams/{position}/members/{place}/name",
                required=False,
            )
            members.append(bare)
        if "members" in plain:
            plain["members"] = members
        teams.append(plain)
    return {**setup, "teams": teams}, names


def checked(setup: dict[str, Any]) -> str:
    """The set-up's text, if the engine takes it."""
    try:
        text = dumps(setup)
        engine.context_of(load_json(text))
    except TypeError as error:
        raise refused("", str(error)) from error
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error
    return text


def still_readable(incident: Incident, setup: dict[str, Any]) -> None:
    """Refuse a set-up under which an entry of the log could not be read any more."""
    log = incident.entries.exclude(kind__in=APP_KINDS).order_by("seq")
    bodies = [loads(body) for body in log.values_list("body", flat=True)]
    try:
        parse_worksheet({**loads(dumps(setup)), "log": bodies})
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error


def add_team_rows(
    incident: Incident, team: Mapping[str, Any], names: Mapping[str, str]
) -> None:
    row = EntryTeam.objects.create(
        incident=incident,
        key=team["id"],
        name=names[team["id"]],
        role=team["role"],
        ensemble=team["ensemble"],
        position=incident.teams.count(),
    )
    Member.objects.bulk_create(
        Member(
            team=row,
            key=member["id"],
            name=names[f"{team['id']}/{member['id']}"],
            position=position,
            cylinder=dumps(member["cylinder"]) if "cylinder" in member else "",
        )
        for position, member in enumerate(team.get("members", ()))
    )


def named(value: str, pointer: str, *, required: bool = True) -> str:
    needed = "a name" if required else ""
    return typed(value, pointer, longest=200, one_line=True, needed=needed)
