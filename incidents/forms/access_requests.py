from incidents.forms.fields import DayField, OneOf, PlainForm, PlainText
from incidents.models import AccessAnswer, AccessRequest


class AccessRequestForm(PlainForm):
    """Who asked for whose records, and when it came."""

    for_whom = PlainText(
        longest=120,
        label="Whose records",
        error_messages={"required": "Enter whose records."},
    )
    what = OneOf(
        AccessRequest.What.choices, missing="Say which records.", label="Which records"
    )
    asked_as = OneOf(
        AccessRequest.AskedAs.choices, missing="Say who asks.", label="Who asks"
    )
    asked_by = PlainText(
        required=False, longest=120, label="Name of who asks, where it is another"
    )
    authority = PlainText(
        required=False,
        longest=500,
        label="Written authorisation",
        help_text="Whose, and of which day. A union needs one for medical records alone.",
    )
    wanted = PlainText(
        required=False, longest=1000, one_line=False, label="What they want, in words"
    )
    received_on = DayField(label="Day on which it came")


class AccessAnswerForm(PlainForm):
    """What was answered, or why it takes longer and until when."""

    outcome = OneOf(
        AccessAnswer.Outcome.choices,
        missing="Say what was answered.",
        label="What was answered",
    )
    answered_on = DayField(label="Day of the answer")
    words = PlainText(
        longest=2000,
        one_line=False,
        label="What was given and how, or the reason as it was written",
        error_messages={"required": "Say what was given, or the reason."},
    )
    earliest_on = DayField(
        required=False,
        label="Earliest day on which access can be given",
        help_text="Where there is a delay.",
    )
