"""An invented incident from its first entry to its last.

Two teams go in by turns, read, are heard on the radio, come out, and go in again until
there are about as many entries as were asked for. People make the mistakes that people
make: a reading is misheard and put right, one reaches the record minutes late, an alarm
is heard late or not at all, and now and then one is let be.
"""

from datetime import datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any, Final

from review.inventing import words
from review.inventing.kinds import Reading, dosimeter, ph, quiet_meter, starch
from review.inventing.scene import Scene, scene
from review.inventing.told import COMMANDER, TECHNICIAN, Invented, Said

# From when it was read to when it stands in the record, in seconds; made up.
_ON_THE_WAY: Final = (2, 25)
_LATE: Final = (150, 700)
_DECIDED: Final = frozenset(
    {"enter", "exit", "par", "ventilate", "clear", "change_ensemble", "acknowledge"}
)
# Time inside of one stay, in minutes, and the air that a member draws in it, psi a minute.
_STAY: Final = (5, 13)
_DRAWS: Final = (55, 105)


def invented(seed: int, number: int, entries: int) -> Invented:
    """Incident `number` of a seed, of about `entries` entries."""
    rng = Random(f"invented incident {seed}/{number}")
    setting = scene(rng)
    document = setting.document(rng)
    story = _Story(rng, setting, round(entries * rng.uniform(0.6, 1.4)))
    plan = _plan(rng, setting)
    story.tell()
    log = tuple(sorted(story.said, key=lambda one: one.recorded_at))
    return Invented(
        seed=seed,
        number=number,
        kind=setting.kind.name,
        document=document,
        location=setting.location,
        crew=setting.crew,
        opened_at=setting.opened_at,
        plan=plan,
        log=log,
        closed_at=max(log[-1].recorded_at, story.now) + timedelta(minutes=20),
        closing=rng.choice(words.CLOSED_BECAUSE),
    )


def _plan(rng: Random, setting: Scene) -> tuple[tuple[str, str, dict[str, Any]], ...]:
    """Some crews write down what they see first; many begin with the readings."""
    if rng.random() < 0.75:
        return ()
    seen = {
        "place": setting.location,
        "occupancy": setting.name.split(",")[0],
        "container": "unknown",
        "labels": "unknown",
        "people": "Nobody inside",
    }
    return (("size_up", "", seen),)


class _Story:
    """The log as it grows; `now` is the incident's own clock."""

    def __init__(self, rng: Random, setting: Scene, target: int) -> None:
        self.rng, self.setting, self.target = rng, setting, target
        self.now: datetime = setting.opened_at + timedelta(minutes=1)
        self.said: list[Said] = []
        self.level = 0.0  # of the hazard in the last room, 0 to 1
        self.aired = False
        self.air: dict[str, int] = {}

    def tell(self) -> None:
        self.say("bump_test", instrument="gas-meter", passed=self.rng.random() < 0.97)
        self.wait(20, 90)
        self.level = self.setting.worst * self.rng.uniform(0.6, 1)
        stays = 0
        while len(self.said) < self.target:
            self.stay(self.setting.teams[stays % 2])
            stays += 1
        self.wait(60, 600)

    # --- saying -----------------------------------------------------------------------

    def wait(self, least: float, most: float) -> None:
        self.now += timedelta(seconds=round(self.rng.uniform(least, most)))

    def say(self, kind: str, *, late: bool = False, **fields: Any) -> Said:
        delay = self.rng.randint(*(_LATE if late else _ON_THE_WAY))
        key = f"e{len(self.said) + 1:03d}"
        body = {"id": key, "at": self.now.isoformat(), "kind": kind, **fields}
        one = Said(
            body=body,
            recorded_at=self.now + timedelta(seconds=delay),
            by=COMMANDER if kind in _DECIDED else TECHNICIAN,
        )
        self.said.append(one)
        return one

    def read(self, team: dict[str, Any], room: str, reading: Reading) -> Said:
        """One reading; a few come late, a few are misheard and put right."""
        fields = {key: value for key, value in reading.items() if key != "kind"}
        if self.rng.random() < 0.08:
            fields["note"] = self.rng.choice(words.READING_NOTES)
        where = {"team": team["id"], "place": room}
        if self.rng.random() < 0.015:
            wrong = self.say(reading["kind"], **where, **fields)
            self.wait(15, 60)
            self.now = max(self.now, wrong.recorded_at)
            why = self.rng.choice(words.STRUCK_BECAUSE)
            self.say("strike", entry=wrong.body["id"], reason=why)
        late = self.rng.random() < 0.03
        one = self.say(reading["kind"], late=late, **where, **fields)
        self.wait(25, 140)
        return one

    # --- one stay of one team ---------------------------------------------------------

    def stay(self, team: dict[str, Any]) -> None:
        edge, room = self.setting.rooms[0], self.setting.rooms[-1]
        entered = self.now
        until = entered + timedelta(minutes=self.rng.uniform(*_STAY))
        par_due = self.next_par()
        self.air = {
            member["id"]: int(member["cylinder"]["start_pressure"]["value"])
            for member in team["members"]
        }
        self.say("enter", team=team["id"], place=edge)
        self.wait(20, 60)
        for reading in self.first_look():
            self.read(team, edge, reading)
        while self.now < until:
            alarming = self.round(team, room)
            if self.now >= par_due:
                self.say("par", team=team["id"])
                par_due = self.next_par()
            if alarming and self.answered(team, alarming):
                break
            self.wait(10, 60)
        self.gauge(team, room, (self.now - entered) / timedelta(minutes=1))
        self.say("exit", team=team["id"])
        self.wait(120, 500)
        self.between(team, room)

    def next_par(self) -> datetime:
        return self.now + timedelta(minutes=self.rng.uniform(6, 19))

    def first_look(self) -> list[Reading]:
        """What is known to be looked at first; now and then part of it is forgotten."""
        rng = self.rng
        every = [
            quiet_meter(rng),
            dosimeter(rng),
            ph(rng, Decimal("6.5")),
            starch(rng, "no_change"),
        ]
        return [reading for reading in every if rng.random() < 0.85] or every[:1]

    def round(self, team: dict[str, Any], room: str) -> Said | None:
        """The readings of a minute or two; the one that is alarming, if any is."""
        rng = self.rng
        self.level = min(1.0, max(0.0, self.level + rng.gauss(0, 0.06)))
        if rng.random() < 0.12:
            self.say("note", text=rng.choice(words.NOTES), team=team["id"], place=room)
        alarming = None
        for reading in self.setting.kind.readings(rng, self.level):
            one = self.read(team, room, reading)
            if self.level >= self.setting.kind.alarming:
                alarming = alarming or one
        if rng.random() < 0.4:
            self.read(team, room, quiet_meter(rng))
        return alarming

    def gauge(self, team: dict[str, Any], room: str, minutes: float) -> None:
        for member in team["members"]:
            drawn = minutes * self.rng.uniform(*_DRAWS)
            left = max(400, round((self.air[member["id"]] - drawn) / 10) * 10)
            pressure = {"value": Decimal(left), "unit": "psi"}
            where = {"team": team["id"], "place": room}
            self.say("air_check", **where, member=member["id"], pressure=pressure)
            self.wait(5, 20)

    # --- what the commander does ------------------------------------------------------

    def answered(self, team: dict[str, Any], alarming: Said) -> bool:
        """Whether the team leaves for it. It is mostly heard, and mostly soon."""
        chance = self.rng.random()
        self.now = max(self.now, alarming.recorded_at)
        if chance < 0.05:
            return False  # not heard, work goes on
        slow = chance > 0.9
        self.wait(*((90, 600) if slow else (8, 70)))
        self.say("acknowledge", entry=alarming.body["id"])
        self.wait(10, 120)
        return chance < 0.82  # else it is let be for now

    def between(self, team: dict[str, Any], room: str) -> None:
        """Outside: something is changed before the next team goes in."""
        rng, kind = self.rng, self.setting.kind
        choice = rng.random()
        if kind.hazard and choice < 0.35:
            self.say("ventilate", place=room, method=rng.choice(words.VENTILATED))
            self.level *= rng.uniform(0.2, 0.7)
            self.aired = True
        elif choice < 0.5:
            self.say("change_ensemble", team=team["id"], ensemble="level_a")
        elif self.aired and kind.hazard and self.level < kind.alarming:
            why = rng.choice(words.CLEARED_BECAUSE)
            self.say("clear", hazard=kind.hazard, place=room, reason=why)
            self.aired = False
        self.wait(60, 400)
