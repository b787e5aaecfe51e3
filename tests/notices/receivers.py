"""Two receivers of notices as plants have them: a mail server with STARTTLS and sign-in, and a program behind a webhook
over TLS. Both can be away, and the second can answer badly."""

import email
import email.policy
import http.server
import json
import logging
import pathlib
import socketserver
import ssl
import sys
import threading
import time

import trustme
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "shared"))

from plant import free_port

# The library warns of its own use of what it will drop.
logging.getLogger("mail.log").setLevel(logging.ERROR)

USER, PASSWORD = b"ovens", b"sourdough-7"


class Authority:
    """The plant's own authority, and a certificate for 127.0.0.1."""

    def __init__(self, folder):
        authority = trustme.CA()
        authority.cert_pem.write_to_path(folder / "plant-ca.pem")
        self.context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        authority.issue_cert("127.0.0.1").configure_cert(self.context)


class MailServer:
    """Takes mail from whoever has signed in over TLS."""

    def __init__(self, authority):
        self.authority, self.port = authority, free_port()
        self.mails, self.refusal, self.controller = [], None, None

    def start(self):
        self.controller = Controller(
            self,
            hostname="127.0.0.1",
            port=self.port,
            tls_context=self.authority.context,
            require_starttls=True,
            auth_required=True,
            auth_require_tls=True,
            authenticator=self.sign_in,
        )
        self.controller.start()

    def stop(self):
        if self.controller:
            self.controller.stop()
            self.controller = None

    @staticmethod
    def sign_in(_server, _session, _envelope, _mechanism, data):
        known = isinstance(data, LoginPassword) and (data.login, data.password) == (USER, PASSWORD)
        return AuthResult(success=known, handled=False)

    async def handle_RCPT(self, _server, _session, envelope, address, _options):
        if self.refusal and self.refusal[0] == address:
            return self.refusal[1]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server, _session, envelope):
        mail = email.message_from_bytes(envelope.original_content, policy=email.policy.default)
        self.mails.append(mail)
        return "250 OK"

    def to(self, address):
        return [mail for mail in self.mails if mail["To"] == address]


class WebhookReceiver:
    """Answers as it is told to, in order; what it answered with 200 it took."""

    def __init__(self, authority):
        self.authority, self.port = authority, free_port()
        self.heard, self.answers, self.server = [], [], None

    def start(self):
        receiver = self

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_POST(self):
                body = self.rfile.read(int(self.headers["Content-Length"]))
                answer = receiver.answers.pop(0) if receiver.answers else 200
                headers = {name.lower(): value for name, value in self.headers.items()}
                receiver.heard.append((answer, headers, body))
                if answer == "hang":
                    time.sleep(15)
                    return
                self.send_response(answer)
                if answer == 302:
                    self.send_header("Location", f"https://127.0.0.1:{receiver.port}/elsewhere")
                text = b"" if answer == 200 else b"the rota is\r\nout of order"
                self.send_header("Content-Length", str(len(text)))
                self.end_headers()
                self.wfile.write(text)

            def log_message(self, *_):
                pass

        class Server(socketserver.ThreadingMixIn, http.server.HTTPServer):
            daemon_threads = True
            allow_reuse_address = True

            def handle_error(self, *_):
                """A client that does not trust us goes away in the middle, as it should."""

        self.server = Server(("127.0.0.1", self.port), Handler)
        self.server.socket = self.authority.context.wrap_socket(
            self.server.socket, server_side=True, do_handshake_on_connect=False
        )
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self):
        if self.server:
            self.server.shutdown()
            self.server.server_close()
            self.server = None

    def taken(self):
        """The bodies that it took, in order."""
        return [json.loads(body) for answer, _, body in self.heard if answer == 200]

    def ids(self):
        """Every id it heard, with its answer."""
        return [(headers["webhook-id"], answer) for answer, headers, _ in self.heard]
