"""The line to a server over a network: sealed, to the server that was meant, or none.

The server that comes as a package knows no TLS (`postgres` answers that it is not built with it),
so a server of the system is taken; certificates are made by the `openssl` of the system.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.membership import Joined, root_certificate
from cartclock.engine.joined.sending import send
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import PROGRAM
from tests.kit.postgres import Postgres, system_bin

_OPENSSL = shutil.which("openssl")


def _openssl(folder: Path, *words: str) -> None:
    subprocess.run([str(_OPENSSL), *words], cwd=folder, check=True, capture_output=True)


def authority(folder: Path) -> None:
    """A certificate of one's own, ca.pem, that can vouch for others."""
    folder.mkdir()
    _openssl(folder, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
             "-nodes", "-keyout", "ca.key", "-out", "ca.pem", "-days", "2",
             "-subj", "/CN=synthetic authority")  # fmt: skip


def vouched(folder: Path, name: str) -> None:
    """A key and a certificate for a host, NAME.key and NAME.pem."""
    _openssl(folder, "req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
             "-keyout", f"{name}.key", "-out", f"{name}.csr", "-subj", f"/CN={name}")  # fmt: skip
    (folder / "names").write_text(f"subjectAltName=DNS:{name}\n")
    _openssl(folder, "x509", "-req", "-in", f"{name}.csr", "-CA", "ca.pem", "-CAkey", "ca.key",
             "-CAcreateserial", "-days", "2", "-extfile", "names",
             "-out", f"{name}.pem")  # fmt: skip


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Certificates for two hosts, and an authority that vouches for neither."""
    if _OPENSSL is None:
        pytest.skip("no openssl is here to make certificates")
    folder = tmp_path_factory.mktemp("papers") / "right"
    authority(folder)
    for name in ("localhost", "elsewhere.example"):
        vouched(folder, name)
    authority(folder.parent / "wrong")
    return folder


@pytest.fixture(scope="module")
def sealed(papers: Path) -> Iterator[Postgres]:
    """A server that lets carts in over TLS alone."""
    programs = system_bin()
    if programs is None:
        pytest.skip("the server of the package knows no TLS, and the system has none")
    one = Postgres(programs)
    try:
        wears(one, papers, "localhost")
        yield one
    finally:
        one.close()


def wears(one: Postgres, papers: Path, name: str, asks: str = "scram-sha-256") -> None:
    """The server begins anew with the certificate of a host, and asks so for the password."""
    one.stop()
    owner = one.data.stat()
    for end, mode in (("key", 0o600), ("pem", 0o644)):
        file = one.data / f"server.{end}"
        shutil.copyfile(papers / f"{name}.{end}", file)
        file.chmod(mode)
        shutil.chown(file, owner.st_uid, owner.st_gid)
    with (one.data / "postgresql.auto.conf").open("a") as settings:
        settings.write("ssl = on\nssl_cert_file = 'server.pem'\nssl_key_file = 'server.key'\n")
    (one.data / "pg_hba.conf").write_text(
        f"hostssl all owner 127.0.0.1/32 trust\nhostssl all all 127.0.0.1/32 {asks}\n"
    )
    one.start()


@pytest.fixture
def away(sealed: Postgres, papers: Path, tmp_path: Path) -> Cart:
    """A cart that reaches the server by a name, as over a network."""
    with sealed.owner() as owner:
        known = owner.execute("SELECT count(*) FROM cartclock.carts").fetchone()
    assert known is not None
    name = f"sealed-{known[0]}"
    sealed.add_cart(name, "sealed")
    one = Cart(tmp_path / name, sealed, name, 3)
    one.joined = Joined(f"localhost:{sealed.port}", name)
    one.log_in(one.day.path)
    shutil.copyfile(papers / "ca.pem", root_certificate(one.day.path))
    return one


@pytest.mark.long
def test_a_line_by_name_is_sealed_and_bound(away: Cart) -> None:
    with linked(away.joined, away.day.path) as line:
        found = line.execute(
            "SELECT ssl, version FROM pg_stat_ssl WHERE pid = pg_backend_pid()"
        ).fetchone()
        assert found is not None and found[0] and found[1] in ("TLSv1.2", "TLSv1.3")
        words = line.info.get_parameters()
        assert (words["sslmode"], words["channel_binding"]) == ("verify-full", "require")
        assert send(away.day.bench.log, line, PROGRAM).rows > 0


@pytest.mark.long
def test_a_server_that_nobody_vouches_for_gets_no_password(away: Cart, papers: Path) -> None:
    shutil.copyfile(papers.parent / "wrong" / "ca.pem", root_certificate(away.day.path))
    with pytest.raises(ShopFault, match="certificate verify failed"):
        opened(away)
    # Those of the system do not know it either.
    root_certificate(away.day.path).unlink()
    with pytest.raises(ShopFault, match="certificate"):
        opened(away)


def opened(cart: Cart) -> None:
    with linked(cart.joined, cart.day.path):
        pass


@pytest.mark.long
def test_a_certificate_of_another_host_is_none(away: Cart, sealed: Postgres, papers: Path) -> None:
    wears(sealed, papers, "elsewhere.example")
    try:
        with pytest.raises(ShopFault, match=r"elsewhere\.example"):
            opened(away)
    finally:
        wears(sealed, papers, "localhost")


@pytest.mark.long
def test_a_server_that_asks_for_the_password_itself_gets_none(
    away: Cart, sealed: Postgres, papers: Path
) -> None:
    wears(sealed, papers, "localhost", asks="password")
    try:
        with pytest.raises(ShopFault, match="require"):
            opened(away)
    finally:
        wears(sealed, papers, "localhost")


def test_by_a_name_no_line_is_plain(cart: Carts, server: Postgres) -> None:
    """The server without TLS, reached by a name as if it were elsewhere."""
    one = cart("plain")
    opened(one)
    one.joined = msgspec.structs.replace(one.joined, server=f"localhost:{server.port}")
    with pytest.raises(ShopFault, match="SSL"):
        opened(one)
