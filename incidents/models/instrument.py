import uuid

from django.conf import settings
from django.db import models
from django.db.models.functions import Coalesce

from incidents.models.agency import Agency
from incidents.models.incident import Incident
from incidents.models.log import LogEntry
from screening.instruments import PAPERS


class InstrumentRows(models.QuerySet["Instrument"]):
    def in_service(self) -> "InstrumentRows":
        return self.filter(retired_at__isnull=True)

    def with_tests(self) -> "InstrumentRows":
        """Each with the times of its last tests that count; None for never."""
        kinds = InstrumentRecord.Kind
        return self.annotate(
            bump_passed_at=_last(kinds.BUMP_TEST, passed=True),
            bump_failed_at=_last(kinds.BUMP_TEST, passed=False),
            calibration_passed_at=_last(kinds.CALIBRATION, passed=True),
            calibration_failed_at=_last(kinds.CALIBRATION, passed=False),
        )


def _last(kind: str, *, passed: bool) -> models.Subquery:
    tests = InstrumentRecord.objects.that_count().filter(
        instrument=models.OuterRef("pk"), kind=kind, passed=passed
    )
    return models.Subquery(tests.order_by("-at").values("at")[:1])


class Instrument(models.Model):
    """A meter, imager, dosimeter or lot of papers of the agency.

    `document` is what a worksheet needs to know of it, without its bump tests; the day
    that a lot of papers expires stands there as `calibration_due`. The rest is for people.
    """

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="instruments"
    )
    key = models.SlugField(max_length=60)
    label = models.CharField(max_length=120)
    kind = models.CharField(max_length=40)
    document = models.TextField(help_text="The worksheet's instrument object, as JSON")
    serial = models.CharField("serial number", max_length=80, blank=True)
    lot = models.CharField(max_length=80, blank=True)
    opened_on = models.DateField(null=True, blank=True)
    calibration_gas = models.CharField(max_length=200, blank=True)
    alarm_points = models.TextField(blank=True)
    ranges = models.TextField("ranges and resolution", blank=True)
    warm_up = models.CharField("warm-up and response", max_length=200, blank=True)
    # A gas meter without a passed test of the day proves nothing by being quiet.
    daily_test = models.BooleanField("asks for a test each day", default=False)
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = InstrumentRows.as_manager()

    class Meta:
        ordering = ("label", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=("agency", "key"), name="one_instrument_per_key"
            ),
        )

    def __str__(self) -> str:
        return self.label


class RecordRows(models.QuerySet["InstrumentRecord"]):
    def that_count(self) -> "RecordRows":
        """Without those that were put right since."""
        turns = InstrumentRecord.objects.filter(corrects=models.OuterRef("pk"))
        last = models.Subquery(turns.order_by("-pk").values("kind")[:1])
        return self.alias(last_turn=Coalesce(last, models.Value(""))).exclude(
            last_turn=InstrumentRecord.Kind.STRUCK
        )


class InstrumentRecord(models.Model):
    """One line of an instrument's history. Only ever added; the database refuses more.

    A test that was wrong is struck by a later row that `corrects` it. A test logged in an
    incident has its `entry`; only a strike in that log strikes it here.
    """

    class Kind(models.TextChoices):
        ADDED = "added", "Added to the register"
        CHANGED = "changed", "Changed in the register"
        BUMP_TEST = "bump_test", "Bump test"
        CALIBRATION = "calibration", "Calibration"
        ZERO = "zero", "Zero in fresh air"
        RETIRED = "retired", "Out of service"
        RETURNED = "returned", "Back in service"
        STRUCK = "struck", "Put right"
        RESTORED = "restored", "Counts again"

    instrument = models.ForeignKey(
        Instrument, on_delete=models.PROTECT, related_name="records"
    )
    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=20, choices=Kind.choices)
    passed = models.BooleanField(null=True)
    at = models.DateTimeField(help_text="When it was done")
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    by_name = models.CharField(max_length=150, help_text="As it was that day")
    gas = models.CharField("gas or sample", max_length=200, blank=True)
    place = models.CharField(max_length=200, blank=True)
    failed_sensors = models.CharField(max_length=200, blank=True)
    next_due = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    entry = models.OneToOneField(
        LogEntry, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    corrects = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        related_name="corrections",
        null=True,
        blank=True,
    )

    objects = RecordRows.as_manager()

    class Meta:
        ordering = ("-at", "-pk")
        indexes = (
            models.Index(
                fields=("instrument", "kind", "passed", "-at"), name="last_test"
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.instrument_id}, {self.at:%Y-%m-%d}"

    @property
    def said(self) -> str:
        """What was done and how it went: "Bump test failed"."""
        label = self.get_kind_display()
        if self.kind == self.Kind.BUMP_TEST and self.instrument.kind in PAPERS:
            label = "Check with a known sample"
        if self.passed is None:
            return label
        return f"{label} {'passed' if self.passed else 'failed'}"
