"""A command post of its own process and database, that can be killed and started again."""

import json
import os
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 120  # the machine may be busy

_OFFER = """
import json
from django.utils import timezone
from incidents.models import Incident
from incidents.services import devices
incident = Incident.objects.order_by("-opened_at").first()
device, secret = devices.offer_device(
    incident_id=incident.pk, person=incident.opened_by,
    team=incident.teams.first().key, name={name!r}, at=timezone.now())
print(json.dumps({{"secret": secret, "device": str(device.pk), "incident": str(incident.pk)}}))
"""
_LOG = """
import json
from incidents.models import Incident
from incidents.services import chain
incident = Incident.objects.order_by("-opened_at").first()
rows = [{"uuid": row.key, "device": row.device, "at": row.observed_at.isoformat(),
         "body": json.loads(row.body)}
        for row in incident.entries.order_by("seq") if row.device.startswith("Phone: ")]
problem = chain.verify(incident)
print(json.dumps({"rows": rows, "problem": problem and str(problem)}))
"""
FORGET_PEOPLE = """
from django.contrib.sessions.models import Session
Session.objects.all().delete()
print("{}")
"""
REVOKE = """
from django.utils import timezone
from incidents.models import Device
from incidents.services import devices
device = Device.objects.order_by("-offered_at").first()
devices.revoke_device(incident_id=device.incident_id, person=device.offered_by,
                      device_id=device.pk, at=timezone.now())
print("{}")
"""
HELD = """
import json
from incidents.models import DeviceEntry
print(json.dumps([row.held_because for row in DeviceEntry.objects.exclude(held_because="")]))
"""


class Post:
    """The demo, served by its own process on one port."""

    def __init__(self, data, **environment):
        self.environment = {
            key: value
            for key, value in os.environ.items()
            if key not in ("DATABASE_URL", "WORKSHEET_MODE", "ALLOWED_HOSTS")
        } | {"WORKSHEET_DATA": str(data), **environment}
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.process = None

    def command(self):
        return ["demo", "--port", str(self.port)]

    def ask_health(self):
        urllib.request.urlopen(f"{self.url}/health/", timeout=5).close()

    def __enter__(self):
        self.start()
        return self

    def __exit__(self, *raised):
        self.kill()

    def manage(self, *words):
        """One command of `manage.py`, and what it prints."""
        done = subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=ROOT,
            env=self.environment,
            capture_output=True,
            text=True,
            check=True,
            timeout=PATIENCE,
        )
        return done.stdout

    def begin(self):
        """What is there before it is served; `demo` brings its own."""

    def start(self):
        self.begin()
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", *self.command()],
            cwd=ROOT,
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        ends = time.monotonic() + PATIENCE
        while True:
            try:
                self.ask_health()
                return
            except OSError:  # not yet: refused, reset or too slow
                if time.monotonic() > ends:
                    self.kill()
                    raise
                time.sleep(0.2)

    def kill(self):
        """All of it at once, without a word."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(10)
            self.process = None

    def run(self, code):
        """What a line of Python inside the post prints, read as JSON."""
        printed = self.manage("shell", "-v", "0", "-c", code)
        return json.loads(printed.strip().splitlines()[-1])

    def offer(self, name="Phone"):
        return self.run(_OFFER.format(name=name))

    def log(self):
        """What phones have logged, in the order of the log; the chain must hold."""
        found = self.run(_LOG)
        assert found["problem"] is None
        return found["rows"]


class HttpsPost(Post):
    """The same over https, by a name of its own and a private authority."""

    HOST = "post.example"  # RFC 2606 keeps `example`: nobody answers to it

    def __init__(self, data):
        super().__init__(data)
        self.url = f"https://{self.HOST}:{self.port}"
        self.authority = data / "https" / "authority.pem"

    def command(self):
        return [
            "serve", "--https", self.HOST, "--address", "127.0.0.1",
            "--port", str(self.port),
        ]  # fmt: skip

    def ask_health(self):
        trusting = ssl._create_unverified_context()  # the name leads nowhere here
        request = urllib.request.Request(
            f"https://127.0.0.1:{self.port}/health/", headers={"Host": self.HOST}
        )
        urllib.request.urlopen(request, timeout=5, context=trusting).close()

    def begin(self):
        self.manage("demo", "--no-serve")
