"""PAR, and a team that reports out: by names, never by a number."""

from typing import Any

from incidents.forms.deciding import NamesForm


class ParForm(NamesForm):
    kind = "par"

    def said(self) -> dict[str, Any]:
        missing = self.missing()
        return {"unanswered": missing} if missing else {}


class ExitForm(NamesForm):
    """A team is out when each has reported out; else it is a PAR with a name open."""

    kind = "exit"

    def body(self) -> dict[str, Any]:
        body = super().body()
        if self.missing():
            body["kind"] = "par"
        return body

    def said(self) -> dict[str, Any]:
        out = self.named() or ("nobody" if self.members() else "the team")
        note = "\n".join(
            filter(None, (f"Reported out: {out}", self.cleaned_data["note"]))
        )
        missing = self.missing()
        return {"note": note} | ({"unanswered": missing} if missing else {})
