# SPDX-License-Identifier: GPL-3.0-or-later
"""What a desk refuses, and that it answers afterwards: other hosts (RFC 9110, 7.2), other pages
(Fetch Standard, 3.2), keys that are wrong, paths, large bodies, requests that never end, hundreds
of connections. Nothing is written beside the plan, and what is read is the plan's."""
import os
import socket
import urllib.parse

from desks import FORM, Case
from helpers import main, tree

SECRET = "root:"  # of /etc/passwd


class Refused(Case):
    def setUp(self):
        super().setUp()
        self.desk = self.begin()
        self.before = tree(self.folder)
        self.number = self.shown_number()

    def shown_number(self):
        return self.desk.get("/part", after=0).split('data-number="')[1].split('"')[0]

    def unharmed(self):
        """Alive, nothing written, nothing changed."""
        self.assertEqual(tree(self.folder), self.before)
        self.assertEqual(self.shown_number(), self.number)

    def ask(self, method, path, body=None, **headers):
        status, text, _ = self.desk.ask(method, path, body, {
            name.replace("_", "-"): value for name, value in headers.items()})
        self.assertFalse(SECRET in text or self.desk.key in text, path)
        return status

    def keyed(self, path="/"):
        return f"{path}?key={self.desk.key}"

    def test_hosts(self):
        port = self.desk.port
        for host in (f"evil.example:{port}", "127.0.0.1", f"127.0.0.1:{port + 1}", f"[::1]:{port}",
                     f"localhost.evil.example:{port}", "", f"127.0.0.1:{port}.example",
                     f"0.0.0.0:{port}", f"127.0.0.1:{port}@evil.example"):
            for path in ("/", "/part", "/plan.json", "/answer.json"):
                with self.subTest(f"{host} {path}"):
                    self.assertIn(self.ask("GET", self.keyed(path), Host=host), (400, 403))
        self.assertEqual(self.ask_own("localhost"), 200)
        self.unharmed()

    def ask_own(self, name):
        status, _, _ = self.desk.ask("GET", self.keyed("/plan.json"), None,
                                     {"Host": f"{name}:{self.desk.port}"})
        return status

    def test_origins(self):
        body = urllib.parse.urlencode({"key": self.desk.key, "wind.surface.speed": "20 mph"})
        for origin in ("http://evil.example", "null", f"https://127.0.0.1:{self.desk.port}",
                       f"http://127.0.0.1:{self.desk.port + 1}", "http://127.0.0.1", "",
                       f"http://127.0.0.1:{self.desk.port}.evil.example"):
            with self.subTest(origin):
                self.assertEqual(self.ask("POST", "/change", body, Origin=origin,
                                          Content_Type=FORM), 403)
                if origin:
                    self.assertEqual(self.ask("GET", self.keyed("/plan.json"), Origin=origin), 403)
        self.assertEqual(self.ask("POST", "/change", body, Content_Type=FORM), 403)
        for site in ("cross-site", "same-site", "x"):
            self.assertEqual(self.ask("GET", self.keyed(), Sec_Fetch_Site=site), 403)
            self.assertEqual(self.ask("POST", "/change", body, Content_Type=FORM,
                                      Origin=self.desk.origin, Sec_Fetch_Site=site), 403)
        self.unharmed()

    def test_keys(self):
        good = self.desk.key
        for key in ("", "x", good[:-1], good + "0", good.upper() if good != good.upper() else "y",
                    good[:-1] + ("0" if good[-1] != "0" else "1"), good + "%00", "%00" + good):
            for path in ("/", "/part", "/plan.json", "/answer.json", "/none"):
                with self.subTest(f"{key} {path}"):
                    self.assertEqual(self.ask("GET", f"{path}?key={key}"), 403)
        self.assertEqual(self.ask("GET", "/"), 403)
        for body in ("", "key=", "key=" + "0" * 32, "wind.surface.speed=3+mph"):
            self.assertEqual(self.ask("POST", "/change", body, Content_Type=FORM,
                                      Origin=self.desk.origin), 403)
        self.unharmed()

    def test_paths(self):
        for path in ("/../../../etc/passwd", "/etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "//",
                     "/..%2f..%2fetc%2fpasswd", "/plan.json/../../etc/passwd", "/plan.json%00",
                     "/./", "/plan.json.notes", "/change", "/desk.js", "/" + "a" * 5000):
            with self.subTest(path[:40]):
                self.assertIn(self.ask("GET", self.keyed(path)), (400, 403, 404))
        for path in ("/", "/plan.json", "/../change", "/change/", "/none"):
            self.assertEqual(self.ask("POST", path, "key=" + self.desk.key, Content_Type=FORM,
                                      Origin=self.desk.origin), 404)
        for method in ("PUT", "DELETE", "HEAD", "OPTIONS", "TRACE", "PATCH", "XYZ"):
            self.assertIn(self.ask(method, self.keyed()), (400, 405))
        self.unharmed()

    def test_files_are_not_named(self):
        quote = urllib.parse.quote
        for setting in ("field.boundary=/etc/passwd", "wind.profiles.0=/etc/passwd",
                        "wind.profiles[0].file=/etc/passwd", 'wind={"profiles":["/etc/passwd"]}',
                        'wind.profiles=["/etc/passwd"]', 'field={"keep_out":"/etc/passwd"}',
                        "field.keep_out=/etc/passwd", "field.roads=/dev/zero", "base=/etc/passwd",
                        "field=/etc/passwd", "wind.profiles[1]=/etc/passwd", "a\nb=c", "a=\x00b"):
            with self.subTest(setting):
                self.assertEqual(self.ask("GET", self.keyed("/answer.json") + "&set=" +
                                          quote(setting)), 400)
        self.unharmed()

    def test_large(self):
        status = 413
        try:
            status = self.ask("POST", "/change", b"key=" + b"a" * (10 << 20), Content_Type=FORM,
                              Origin=self.desk.origin)
        except OSError:
            pass  # answered, and closed while the body was still being sent
        self.assertEqual(status, 413)
        with socket.create_connection(("127.0.0.1", self.desk.port)) as line:
            line.sendall(f"POST /change HTTP/1.1\r\nHost: 127.0.0.1:{self.desk.port}\r\nOrigin: "
                         f"{self.desk.origin}\r\nContent-Type: {FORM}\r\n"
                         "Transfer-Encoding: chunked\r\n\r\n".encode())
            try:
                for _ in range(100):
                    line.sendall(b"4000\r\n" + b"a" * 0x4000 + b"\r\n")
                ended = line.recv(1000)
            except OSError:
                ended = b""
            self.assertFalse(ended.startswith(b"HTTP/1.1 2"))
        for headers in ({"X": "a" * 100000}, {f"X{i}": "a" for i in range(90)}):
            try:
                self.assertIn(self.desk.ask("GET", self.keyed(), None, headers)[0],
                              (200, 413, 431, 400))
            except OSError:
                pass
        body = "&".join(f"k{i}=1" for i in range(1000))
        self.assertEqual(self.ask("POST", "/change", f"key={self.desk.key}&{body}",
                                  Content_Type=FORM, Origin=self.desk.origin), 400)
        self.unharmed()

    def test_no_form(self):
        for kind in ("application/json", "text/plain", "multipart/form-data; boundary=x"):
            self.assertEqual(self.ask("POST", "/change", "key=" + self.desk.key, Content_Type=kind,
                                      Origin=self.desk.origin), 415)
        for body in ("key=" + self.desk.key + "&a=%00", "key=" + self.desk.key + "&a=%0a",
                     b"key=" + self.desk.key.encode() + b"&a=\0"):
            self.assertEqual(self.ask("POST", "/change", body, Content_Type=FORM,
                                      Origin=self.desk.origin), 400)
        self.unharmed()

    def test_slow_and_many(self):
        """Requests that never end are cut off, and hundreds of lines held open do not keep one
        who has the key from an answer."""
        slow = []
        for i in range(500):
            line = socket.create_connection(("127.0.0.1", self.desk.port), timeout=60)
            if i % 2:
                line.sendall(b"GET / HTTP/1.1\r\nHost: ")
            slow.append(line)
        self.unharmed()  # while they are there
        for line in slow[-2:]:
            self.assertEqual(line.recv(10), b"")  # cut off
        for line in slow:
            line.close()
        self.unharmed()

    def test_too_often(self):
        """More requests than a page makes are put off, and told so."""
        seen = {self.desk.ask("GET", self.keyed("/plan.json"))[0] for _ in range(400)}
        self.assertLessEqual(seen, {200, 429})

    def test_errands_are_few(self):
        """Eight at most wait to be computed."""
        lines = []
        for _ in range(20):
            line = socket.create_connection(("127.0.0.1", self.desk.port), timeout=100)
            line.sendall((f"GET {self.keyed('/answer.json')} HTTP/1.1\r\n"
                          f"Host: 127.0.0.1:{self.desk.port}\r\nConnection: close\r\n\r\n").encode())
            lines.append(line)
        first = [line.recv(100).split(b" ")[1] for line in lines]
        for line in lines:
            line.close()
        self.assertLessEqual(set(first), {b"200", b"503"})
        self.assertIn(b"503", first)
        self.unharmed()


class Readers(Case):
    def test_others_look_only(self):
        desk = self.begin(None, "--listen", "127.0.0.1")
        second = desk.process.stdout.readline().strip()
        place, key = second.split("/?key=")
        port = int(place.rsplit(":", 1)[1])
        self.assertFalse(key == desk.key)
        host = {"Host": f"127.0.0.1:{port}"}
        desk.settled()
        status, page, _ = desk.ask("GET", "/?key=" + key, None, host, port)
        self.assertEqual(status, 200)
        self.assertIn('class="verdict yes"', page)
        for word in ("<form", "<script", "<input type", desk.key):
            self.assertFalse(word in page.replace('<input type="checkbox" id="all', ""), word)
        self.assertEqual(desk.ask("GET", "/?key=" + desk.key, None, host, port)[0], 403)
        self.assertEqual(desk.ask("GET", "/?key=" + key)[0], 403)  # not at the local door
        for path in ("/part", "/answer.json", "/plan.json"):
            self.assertEqual(desk.ask("GET", f"{path}?key={key}", None, host, port)[0], 404)
        self.assertEqual(desk.ask("POST", "/change", "key=" + key,
                                  {**host, "Origin": place, "Content-Type": FORM}, port)[0], 405)
        self.assertEqual(desk.ask("GET", "/?key=" + key, None,
                                  {"Host": f"evil.example:{port}"}, port)[0], 403)
        self.assertEqual(desk.end()[0], 0)

    def test_warning(self):
        desk = self.begin()
        desk.end()
        from desks import Desk
        loud = Desk(self.plan, "--listen", "127.0.0.1")
        self.assertIn("not encrypted", loud.end()[1])


if __name__ == "__main__":
    main()
