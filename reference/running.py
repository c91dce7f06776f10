"""How is the app started as a program, asked as a browser asks it, and ended by SIGKILL?"""

import http.client
import json
import os
import re
import subprocess
from pathlib import Path

import foreread
import press

JSON = "application/json"


def words(body: bytes) -> str:
    """What a page that refuses says, without its markup."""
    return " ".join(re.sub(r"<[^>]*>", " ", body.decode(errors="replace")).split())[-400:]


class Gone(Exception):
    """The app ended before it answered."""


class Refused(Exception):
    """It answered that it did not do it."""


class Running:
    """The app on a free port over a home."""

    def __init__(self, home: Path):
        line = [foreread.binary(), "--home", str(home), "--port", "0", "--no-open"]
        self.home = home
        self.child = subprocess.Popen(
            line, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, "FOREREAD_PRESS": press.path()},
        )
        self.port, self.secret = 0, ""

    def ready(self) -> "Running":
        """Waits for its address, and reads the secret of its pages."""
        said = self.child.stdout.readline().strip()
        found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/", said)
        if not found:
            raise SystemExit(f"the app did not start again: {said!r} {self.child.stderr.read()}")
        self.port = int(found[1])
        self.secret = re.search(r'name="foreread-secret" content="(\w+)"', self.page("/"))[1]
        return self

    def ask(self, method: str, path: str, body: bytes = b"", kind: str = JSON) -> tuple[int, bytes]:
        """One request on a connection of its own."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        head = {"content-type": kind, "x-foreread-secret": self.secret, "origin": f"http://127.0.0.1:{self.port}"}
        try:
            connection.request(method, path, body or None, head)
            answer = connection.getresponse()
            return answer.status, answer.read()
        except (OSError, http.client.HTTPException) as error:
            raise Gone(str(error)) from None
        finally:
            connection.close()

    def page(self, path: str) -> str:
        """A page as it is shown."""
        status, body = self.ask("GET", path)
        if status != 200:
            raise Refused(f"{path}: {status} {body[:300]!r}")
        return body.decode()

    def post(self, path: str, what: object) -> object:
        """Something that a page sends, and what it is told."""
        status, body = self.ask("POST", path, json.dumps(what).encode())
        if status >= 300:
            raise Refused(f"{path}: {status} {words(body)}")
        return json.loads(body) if body else None

    def drop(self, path: str, content: bytes) -> dict:
        """A file that is dropped in."""
        status, body = self.ask("POST", path, content, "application/octet-stream")
        if status != 200:
            raise Refused(f"{path}: {status} {body[:300]!r}")
        return json.loads(body)

    def helpers(self) -> list[int]:
        """Programs that it has started."""
        found = []
        for stat in Path("/proc").glob("[0-9]*/stat"):
            try:
                parent = int(stat.read_text().rsplit(")", 1)[1].split()[1])
            except (OSError, IndexError):
                continue
            if parent == self.child.pid:
                found.append(int(stat.parent.name))
        return found

    def kill(self) -> None:
        """SIGKILL, at once."""
        self.child.kill()
        self.child.wait(20)
        self.child.stdout.close()
        self.child.stderr.close()
