import json
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db import models

from incidents.models.agency import Agency
from incidents.models.incident import Incident


class WhatIfRun(models.Model):
    """An agency's archive judged under other limits, in the background.

    Which incidents it is about is settled when it is asked for: a row of
    `WhatIfIncident` each. A worker fills them in and holds the run by its `claim`.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting for a worker"
        RUNNING = "running", "running"
        DONE = "done", "done"
        CANCELLED = "cancelled", "cancelled"
        FAILED = "failed", "stopped by a fault"

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="what_if_runs"
    )
    name = models.CharField(max_length=200)
    limits = models.TextField(help_text="The LIMITS.json that was asked for")
    query = models.TextField(
        blank=True, help_text="The same question as the page of an incident asks it"
    )
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    asked_by_name = models.CharField(max_length=150, help_text="As it was that day")
    asked_at = models.DateTimeField()
    state = models.CharField(
        max_length=10, choices=State.choices, default=State.WAITING
    )
    total = models.PositiveIntegerField()
    done = models.PositiveIntegerField(default=0)
    claim = models.UUIDField(null=True, blank=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    done_when_claimed = models.PositiveIntegerField(default=0)
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    cancel_asked_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    failure = models.TextField(blank=True)

    class Meta:
        ordering = ("-asked_at", "-pk")

    def __str__(self) -> str:
        return f"{self.name}: {self.done} of {self.total}"

    @property
    def has_ended(self) -> bool:
        return self.state in (self.State.DONE, self.State.CANCELLED, self.State.FAILED)

    @property
    def document(self) -> Any:
        """The limits as they were asked for, every number exact."""
        return json.loads(self.limits, parse_float=Decimal, parse_int=Decimal)


class WhatIfIncident(models.Model):
    """One incident of a run, and what came of it."""

    run = models.ForeignKey(
        WhatIfRun, on_delete=models.PROTECT, related_name="incidents"
    )
    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="+")
    document = models.TextField(
        blank=True, help_text="One line of the result; empty until it was judged"
    )
    differs = models.BooleanField(default=False)
    ended_otherwise = models.BooleanField(default=False)
    judged = models.BooleanField(
        default=False, help_text="Its log could be read under the limits"
    )

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=("run", "incident"), name="one_result_per_incident"
            ),
        )
        indexes = (
            models.Index(fields=("run", "ended_otherwise"), name="what_if_by_ending"),
        )

    def __str__(self) -> str:
        return f"{self.run_id}: {self.incident_id}"
