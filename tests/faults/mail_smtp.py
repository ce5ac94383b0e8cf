#!/usr/bin/env python3
"""The courier against real mail servers that refuse, hang, drop and ask: tests/faults/mail_smtp.py PROGRAM

Servers are aiosmtpd's (RFC 5321, STARTTLS of RFC 3207, AUTH of RFC 4954); what arrives is read by Python's `email`
(RFC 5322, MIME). Promised: every mail at least once, none of a change that was rolled back, one Message-ID however often
it comes, each person's mails in order, no header but ours whatever a name or subject holds, and no password in the clear.
`outbox`, which lies beside PROGRAM, writes the mails. The waits between tries are cut short in the database.
"""
import asyncio
import collections
import concurrent.futures
import contextlib
import datetime
import email
import email.policy
import ipaddress
import json
import logging
import os
import random
import signal
import socket
import sqlite3
import ssl
import subprocess
import sys
import tempfile
import threading
import time
import traceback
import urllib.request

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

PROGRAM = os.path.abspath(sys.argv[1])
OUTBOX = os.path.join(os.path.dirname(PROGRAM), "outbox")
HEADERS = {"From", "Reply-To", "To", "Subject", "Date", "Message-ID", "Auto-Submitted", "MIME-Version", "Content-Type"}
PATIENCE = 300
# What the servers say about clients that leave is expected here.
logging.disable(logging.CRITICAL)


# --- servers ---------------------------------------------------------------------------------------------------------
class Inbox:
    """Takes every mail; scenarios override what they do wrong."""

    def __init__(self):
        self.arrived = []
        self.tries = collections.Counter()

    def take(self, envelope):
        mail = email.message_from_bytes(envelope.original_content, policy=email.policy.default)
        self.arrived.append((envelope.rcpt_tos, mail))
        return mail

    async def handle_DATA(self, server, session, envelope):
        self.take(envelope)
        return "250 taken"

    def ids(self):
        return [str(mail["Message-ID"]) for _, mail in self.arrived]

    def texts(self, address):
        return [body(mail) for rcpt, mail in self.arrived if rcpt == [address]]


def body(mail):
    return mail.get_body(("plain",)).get_content().strip()


class RefusesTwice(Inbox):
    async def handle_RCPT(self, server, session, envelope, address, options):
        self.tries[address] += 1
        if self.tries[address] <= 2:
            return "451 4.3.0 not now"
        envelope.rcpt_tos.append(address)
        return "250 fine"


class RefusesOne(Inbox):
    def __init__(self, address, answer):
        super().__init__()
        self.address, self.answer = address, answer

    async def handle_RCPT(self, server, session, envelope, address, options):
        self.tries[address] += 1
        if address == self.address:
            return self.answer
        envelope.rcpt_tos.append(address)
        return "250 fine"


class DropsFirst(Inbox):
    """Takes the mail and is gone before it says so, the first time it sees each."""

    async def handle_DATA(self, server, session, envelope):
        mail = self.take(envelope)
        self.tries[str(mail["Message-ID"])] += 1
        if self.tries[str(mail["Message-ID"])] == 1:
            server.transport.abort()
        return "250 taken"


class HangsFirst(Inbox):
    """Takes the mail and says nothing for longer than the program waits, the first time it sees each."""

    async def handle_DATA(self, server, session, envelope):
        mail = self.take(envelope)
        self.tries[str(mail["Message-ID"])] += 1
        if self.tries[str(mail["Message-ID"])] == 1:
            await asyncio.sleep(4)
        return "250 taken"


class Slow(Inbox):
    async def handle_DATA(self, server, session, envelope):
        await asyncio.sleep(0.02)
        self.take(envelope)
        return "250 taken"


class Door:
    """Notes passwords, and which of them came over an unprotected line."""

    def __init__(self):
        self.seen = []

    def __call__(self, server, session, envelope, mechanism, auth_data):
        login = (auth_data.login.decode(), auth_data.password.decode())
        self.seen.append((login, session.ssl is not None))
        return AuthResult(success=login == ("studio", "right-password"))


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


@contextlib.contextmanager
def server(handler, port=None, wrap=None, **options):
    options.setdefault("ident", "test")

    class Server(Controller):
        def factory(self):
            return SMTP(self.handler, enable_SMTPUTF8=False, **options)

        def _trigger_server(self):
            # The controller's own first call checks the certificate, which nobody has signed.
            trust = ssl.create_default_context()
            trust.check_hostname, trust.verify_mode = False, ssl.CERT_NONE
            with socket.create_connection((self.hostname, self.port), 2) as line:
                with trust.wrap_socket(line) if wrap else line as line:
                    line.recv(100)

    controller = Server(handler, hostname="127.0.0.1", port=port or free_port(), ssl_context=wrap)
    controller.start()
    try:
        yield controller.port
    finally:
        controller.stop()


def certificate(folder):
    """A certificate for localhost and 127.0.0.1, and the context of a server that shows it."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    now = datetime.datetime.now(datetime.timezone.utc)
    names = [x509.DNSName("localhost"), x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]
    made = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
        .serial_number(x509.random_serial_number()).not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=2))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .sign(key, hashes.SHA256())
    )
    file = os.path.join(folder, "server.pem")
    with open(file, "wb") as out:
        out.write(made.public_bytes(serialization.Encoding.PEM))
    secret = os.path.join(folder, "server.key")
    with open(secret, "wb") as out:
        plain = serialization.NoEncryption()
        out.write(key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain))
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(file, secret)
    return file, context


# --- the program -----------------------------------------------------------------------------------------------------
class Studio:
    """A database with an outbox, and the programs that carry from it."""

    def __init__(self, folder):
        self.folder = folder
        self.file = os.path.join(folder, "studio.db")
        self.programs = []

    def write(self, *mails):
        lines = "".join(json.dumps(mail) + "\n" for mail in mails)
        done = subprocess.run([OUTBOX, f"sqlite:{self.file}"], input=lines, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        return [json.loads(line) for line in done.stdout.splitlines()]

    def start(self, port, *flags, security="none", environment=None):
        command = [PROGRAM, "--database", f"sqlite:{self.file}", "--data", self.folder, "serve", "--listen", "127.0.0.1:0",
                   "--smtp-host", "127.0.0.1", "--smtp-port", str(port), "--smtp-security", security,
                   "--smtp-timeout", "2", *flags]
        program = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                                   env={**os.environ, **(environment or {})})
        line = program.stdout.readline()
        assert "listens on" in line, program.communicate()[1]
        program.base = line.split()[-1]
        # Nobody reads on: a full pipe would stop the program.
        program.said = []
        for pipe in (program.stdout, program.stderr):
            threading.Thread(target=lambda pipe=pipe: program.said.extend(pipe), daemon=True).start()
        self.programs.append(program)
        return program

    def sql(self, text):
        with contextlib.closing(sqlite3.connect(self.file, timeout=20)) as db, db:
            return db.execute(text).fetchall()

    def states(self):
        return dict(self.sql("SELECT state, count(*) FROM message GROUP BY state"))

    def hasten(self):
        self.sql("UPDATE message SET due_at = 0 WHERE state = 'QUEUED' AND due_at > 0")

    def wait(self, done, hasten=True):
        end = time.monotonic() + PATIENCE
        while not done():
            assert time.monotonic() < end, f"not in {PATIENCE} s; states {self.states()}"
            time.sleep(0.2)
            if hasten:
                self.hasten()

    def all_sent(self):
        return set(self.states()) == {"SENT"}

    def stop(self):
        for program in self.programs:
            if program.poll() is None:
                program.send_signal(signal.SIGTERM)
        for program in self.programs:
            try:
                program.wait(20)
            except subprocess.TimeoutExpired:
                program.kill()
                raise AssertionError("the program did not stop when it was told to")


def mail(number, to="aoife@example.com", **more):
    return {"to_name": "Aoife Byrne", "to_email": to, "subject": f"Mail {number}", "text": f"text {number}", **more}


def spread(count, people):
    return [mail(n, f"c{n % people}@example.com") for n in range(count)]


def in_order(inbox, count, people):
    """Each person's first copies come in the order in which they were written."""
    for person in range(people):
        texts = list(dict.fromkeys(inbox.texts(f"c{person}@example.com")))
        assert texts == [f"text {n}" for n in range(person, count, people)], (person, texts)


def once_each(inbox, count):
    assert len(inbox.arrived) == count == len(set(inbox.ids())), (len(inbox.arrived), len(set(inbox.ids())), count)


# --- what is promised ------------------------------------------------------------------------------------------------
def every_mail_once_in_order_and_none_rolled_back(studio):
    inbox = Inbox()
    written = studio.write(*spread(200, 10), *(mail(n, roll_back=True) for n in range(20)))
    assert [w is None for w in written] == [False] * 200 + [True] * 20
    with server(inbox) as port:
        program = studio.start(port)
        studio.wait(studio.all_sent, hasten=False)
        metrics = urllib.request.urlopen(program.base + "/metrics").read().decode()
    once_each(inbox, 200)
    in_order(inbox, 200, 10)
    assert sorted(inbox.ids()) == sorted(f"<{id}@baywright.example>" for id in written[:200])
    assert "outbox_pending " in metrics


def odd_names_and_subjects_make_no_header_and_no_recipient(studio):
    rng = random.Random(20261125)
    pieces = ["\r\nBcc: x@example.com", "\r\n\r\n<b>", "\n", "\r", "\x00", "\x0b", "\x1b[2J", "\u2028", "\u2029", "\x85", "é", "ß", "字", "🚗",
              "\u202e", "\u200b", '"', "\\", "<", ">", "@", ",", ";", ":", "(", ")", "=?utf-8?q?x?=", "=?utf-8?b?", "a", "Byrne", " ", "  ", "\t",
              "x" * 80, "é" * 60, "To: y@example.com", "%0d%0a", "\r\n.\r\n", "."]
    odd = lambda: "".join(rng.choice(pieces) for _ in range(rng.randint(0, 9)))
    mails = [{"to_name": odd(), "to_email": f"o{n}@example.com", "subject": odd(), "text": odd()} for n in range(1000)]
    studio.write(*mails)
    inbox = Inbox()
    with server(inbox) as port:
        studio.start(port)
        studio.wait(studio.all_sent, hasten=False)
    once_each(inbox, 1000)
    seen = set()
    for rcpt, parsed in inbox.arrived:
        names = parsed.keys()
        assert len(names) == len(set(names)) and set(names) == HEADERS, names
        assert len(rcpt) == 1 and [a.addr_spec for a in parsed["To"].addresses] == rcpt, (rcpt, str(parsed["To"]))
        assert [a.addr_spec for a in parsed["From"].addresses] == ["studio@baywright.example"]
        assert not any(ord(c) < 32 or ord(c) == 127 for c in str(parsed["Subject"])), parsed["Subject"]
        assert parsed["Auto-Submitted"] == "auto-generated"
        kinds = [part.get_content_type() for part in parsed.walk()]
        assert kinds == ["multipart/alternative", "text/plain", "text/html"], kinds
        seen.add(rcpt[0])
    assert len(seen) == 1000


def a_server_that_says_later_gets_it_later_in_order(studio):
    inbox = RefusesTwice()
    studio.write(*spread(30, 5))
    with server(inbox) as port:
        studio.start(port)
        studio.wait(studio.all_sent)
    once_each(inbox, 30)
    in_order(inbox, 30, 5)


def an_address_refused_for_good_is_kept_and_holds_up_nobody(studio):
    inbox = RefusesOne("c1@example.com", "550 5.1.1 no such mailbox")
    studio.write(*spread(12, 3))
    with server(inbox) as port:
        studio.start(port)
        studio.wait(lambda: studio.states() == {"SENT": 8, "FAILED": 4})
    once_each(inbox, 8)
    assert inbox.tries["c1@example.com"] == 4
    troubles = {trouble for (trouble,) in studio.sql("SELECT trouble FROM message WHERE state = 'FAILED'")}
    assert all("no such mailbox" in trouble for trouble in troubles), troubles


def a_mail_that_never_goes_is_given_up_after_twelve_tries(studio):
    inbox = RefusesOne("c1@example.com", "452 4.2.2 mailbox full")
    studio.write(mail(1, "c1@example.com"), mail(2, "c2@example.com"))
    with server(inbox) as port:
        studio.start(port)
        studio.wait(lambda: studio.states() == {"SENT": 1, "FAILED": 1})
    assert inbox.tries == {"c1@example.com": 12, "c2@example.com": 1}, inbox.tries


def an_answer_that_was_lost_brings_the_same_message_id_again(studio):
    inbox = DropsFirst()
    studio.write(*spread(10, 2))
    with server(inbox) as port:
        studio.start(port)
        studio.wait(studio.all_sent)
    assert collections.Counter(inbox.ids()).values() and set(collections.Counter(inbox.ids()).values()) == {2}
    assert len(set(inbox.ids())) == 10
    in_order(inbox, 10, 2)


def a_server_that_hangs_is_left_and_asked_again(studio):
    inbox = HangsFirst()
    studio.write(mail(1), mail(2, "b@example.com"))
    with server(inbox) as port:
        studio.start(port)
        studio.wait(studio.all_sent)
    assert set(collections.Counter(inbox.ids()).values()) == {2}, inbox.ids()


def a_server_that_never_greets_stops_nothing(studio):
    studio.write(mail(1))
    with socket.socket() as deaf:
        deaf.bind(("127.0.0.1", 0))
        deaf.listen()
        program = studio.start(deaf.getsockname()[1])
        studio.wait(lambda: studio.sql("SELECT tries FROM message WHERE trouble <> ''"))
        began = time.monotonic()
        assert urllib.request.urlopen(program.base + "/readyz").status == 200
        assert time.monotonic() - began < 1
    assert studio.states() == {"QUEUED": 1}


def a_server_that_is_down_gets_all_of_it_when_it_is_back(studio):
    inbox, port = Inbox(), free_port()
    studio.write(*spread(300, 30))
    studio.start(port)
    studio.wait(lambda: studio.sql("SELECT 1 FROM message WHERE trouble <> '' LIMIT 1"), hasten=False)
    time.sleep(6)
    with server(inbox, port=port):
        studio.wait(studio.all_sent)
    once_each(inbox, 300)
    in_order(inbox, 300, 30)


def two_programs_share_the_work(studio):
    inbox = Slow()
    studio.write(*spread(200, 20))
    with server(inbox) as port:
        studio.start(port)
        studio.start(port)
        studio.wait(studio.all_sent, hasten=False)
    once_each(inbox, 200)
    in_order(inbox, 200, 20)


def a_program_killed_while_it_sends_loses_nothing(studio):
    inbox = Slow()
    written = studio.write(*spread(120, 12))
    rng = random.Random(7)
    with server(inbox) as port:
        while not studio.all_sent():
            program = studio.start(port)
            time.sleep(0.3 + rng.random() / 2)
            program.kill()
            program.wait()
            # The lease of the mail that was on its way has run out.
            studio.sql("UPDATE message SET due_at = 0 WHERE state = 'SENDING'")
    assert set(inbox.ids()) == {f"<{id}@baywright.example>" for id in written}
    in_order(inbox, 120, 12)


def a_sign_in_over_starttls_works_and_a_wrong_one_waits(studio):
    file, context = certificate(studio.folder)
    inbox, door = Inbox(), Door()
    studio.write(*spread(5, 5))
    options = {"tls_context": context, "require_starttls": True, "auth_required": True, "authenticator": door}
    flags = ["--smtp-ca", file, "--smtp-user", "studio"]
    with server(inbox, **options) as port:
        wrong = studio.start(port, *flags, security="starttls", environment={"BAYWRIGHT_SMTP_PASSWORD": "wrong"})
        studio.wait(lambda: studio.sql("SELECT 1 FROM message WHERE tries >= 2"))
        assert studio.states().get("FAILED") is None and inbox.arrived == []
        wrong.terminate()
        wrong.wait(20)
        studio.sql("UPDATE message SET due_at = 0")
        right = {"BAYWRIGHT_SMTP_PASSWORD": "right-password"}
        program = studio.start(port, *flags, security="starttls", environment=right)
        studio.wait(studio.all_sent)
    once_each(inbox, 5)
    assert door.seen and all(protected for _, protected in door.seen)
    said = "".join(wrong.said + program.said)
    assert "right-password" not in said and "c0@example.com" not in said, said


def tls_from_the_first_byte_works(studio):
    file, context = certificate(studio.folder)
    inbox = Inbox()
    studio.write(mail(1))
    with server(inbox, wrap=context) as port:
        studio.start(port, "--smtp-ca", file, security="tls")
        studio.wait(studio.all_sent)
    once_each(inbox, 1)


def a_server_without_starttls_or_with_another_certificate_gets_nothing(studio):
    with tempfile.TemporaryDirectory() as other:
        _, context = certificate(other)
    file, _ = certificate(studio.folder)
    inbox, door = Inbox(), Door()
    flags = ["--smtp-ca", file, "--smtp-user", "studio"]
    environment = {"BAYWRIGHT_SMTP_PASSWORD": "right-password"}
    studio.write(mail(1))
    for options in ({"auth_require_tls": False}, {"tls_context": context, "require_starttls": True}):
        studio.sql("UPDATE message SET tries = 0, due_at = 0, trouble = ''")
        with server(inbox, authenticator=door, **options) as port:
            program = studio.start(port, *flags, security="starttls", environment=environment)
            studio.wait(lambda: studio.sql("SELECT 1 FROM message WHERE tries >= 2"))
            program.terminate()
            program.wait(20)
    assert inbox.arrived == [] and door.seen == []
    assert studio.states() == {"QUEUED": 1}


SCENARIOS = [
    every_mail_once_in_order_and_none_rolled_back,
    odd_names_and_subjects_make_no_header_and_no_recipient,
    a_server_that_says_later_gets_it_later_in_order,
    an_address_refused_for_good_is_kept_and_holds_up_nobody,
    a_mail_that_never_goes_is_given_up_after_twelve_tries,
    an_answer_that_was_lost_brings_the_same_message_id_again,
    a_server_that_hangs_is_left_and_asked_again,
    a_server_that_never_greets_stops_nothing,
    a_server_that_is_down_gets_all_of_it_when_it_is_back,
    two_programs_share_the_work,
    a_program_killed_while_it_sends_loses_nothing,
    a_sign_in_over_starttls_works_and_a_wrong_one_waits,
    tls_from_the_first_byte_works,
    a_server_without_starttls_or_with_another_certificate_gets_nothing,
]


def run(scenario):
    with tempfile.TemporaryDirectory(prefix="baywright-mail-") as folder:
        studio = Studio(folder)
        try:
            try:
                scenario(studio)
            finally:
                studio.stop()
            return None
        except Exception:  # noqa: BLE001 - any failure is the scenario's
            return traceback.format_exc()


def main():
    chosen = [s for s in SCENARIOS if len(sys.argv) < 3 or s.__name__ in sys.argv[2:]]
    failed = 0
    with concurrent.futures.ThreadPoolExecutor(4) as pool:
        for scenario, trouble in zip(chosen, pool.map(run, chosen)):
            print(f"{'FAILED' if trouble else 'ok'}: {scenario.__name__.replace('_', ' ')}", flush=True)
            if trouble:
                failed += 1
                print(trouble, flush=True)
    print(f"{len(chosen) - failed} passed, {failed} failed")
    return failed > 0


if __name__ == "__main__":
    sys.exit(main())
