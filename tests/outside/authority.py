"""A time-stamp authority of the tests' own: `openssl ts` behind HTTP on this machine (RFC 3161, section 3.4).

It proves that the mechanics work, and is no evidence of any time. OpenSSL's program is meant: LibreSSL lacks options.
"""

from __future__ import annotations

import subprocess
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

CONFIG = """\
oid_section = new_oids
[ new_oids ]
tsa_policy1 = 1.2.3.4.1
[ req ]
distinguished_name = dn
prompt = no
[ dn ]
CN = Test Root
[ v3_ca ]
basicConstraints = critical,CA:TRUE
keyUsage = critical,keyCertSign,cRLSign
subjectKeyIdentifier = hash
[ v3_tsa ]
basicConstraints = critical,CA:FALSE
keyUsage = critical,digitalSignature
extendedKeyUsage = critical,timeStamping
subjectKeyIdentifier = hash
authorityKeyIdentifier = keyid
[ tsa ]
default_tsa = tsa_config1
[ tsa_config1 ]
serial = ./tsaserial
crypto_device = builtin
signer_cert = ./tsa.crt
signer_key = ./tsa.key
signer_digest = sha256
default_policy = tsa_policy1
other_policies = tsa_policy1
digests = sha256, sha384, sha512
accuracy = secs:1
ordering = yes
tsa_name = yes
ess_cert_id_chain = no
ess_cert_id_alg = sha256
"""
SET_UP = """\
openssl ecparam -name prime256v1 -genkey -noout -out ca.key
openssl req -new -x509 -key ca.key -subj "/CN=Test Root" -days DAYS -config tsa.cnf -extensions v3_ca -out ca.crt
openssl ecparam -name prime256v1 -genkey -noout -out tsa.key
openssl req -new -key tsa.key -subj "/CN=Test TSA" -config tsa.cnf -out tsa.csr
openssl x509 -req -in tsa.csr -CA ca.crt -CAkey ca.key -CAcreateserial -days DAYS -extfile tsa.cnf -extensions v3_tsa -out tsa.crt
echo 01 > tsaserial
"""  # noqa: E501 — one command a line


def set_up(folder: Path, *, days: int = 3650) -> Path:
    """The folder with the keys and certificates of an authority in it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "tsa.cnf").write_text(CONFIG)
    for command in SET_UP.replace("DAYS", str(days)).splitlines():
        subprocess.run(command, shell=True, cwd=folder, check=True, capture_output=True)
    return folder


def reply(folder: Path, query: bytes) -> bytes:
    """What the authority answers to a query."""
    (folder / "req.tsq").write_bytes(query)
    command = "openssl ts -reply -config tsa.cnf -section tsa_config1 -queryfile req.tsq -out resp.tsr"
    subprocess.run(command, shell=True, cwd=folder, check=False, capture_output=True)
    return (folder / "resp.tsr").read_bytes()


@dataclass
class Counter:
    """An authority's counter: what it was asked, and how it answers."""

    address: str
    answer: Callable[[bytes], bytes]
    kind: str = "application/timestamp-reply"
    asked: list[tuple[str, bytes]] = field(default_factory=list)


@contextmanager
def serve(answer: Callable[[bytes], bytes]) -> Iterator[Counter]:
    """Answer HTTP on this machine until the block ends."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            query = self.rfile.read(int(self.headers["Content-Length"]))
            counter.asked.append((self.headers["Content-Type"], query))
            body = counter.answer(query)
            self.send_response(200)
            self.send_header("Content-Type", counter.kind)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            """Say nothing on the test's output."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        counter = Counter(address=f"http://127.0.0.1:{server.server_port}/", answer=answer)
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        try:
            yield counter
        finally:
            server.shutdown()
            thread.join()
