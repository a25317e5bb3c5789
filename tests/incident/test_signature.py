"""A detached Ed25519 signature: what it proves, and that it can't be altered or taken away."""

from __future__ import annotations

import base64
import json
import shutil
from pathlib import Path

import pytest

from alarmsift.errors import InputError
from alarmsift.incident import signature
from alarmsift.incident.check import verify_pack
from alarmsift.incident.pack import PackOptions, pack_incident
from tests.incident.night import END, START

ed25519 = pytest.importorskip("cryptography.hazmat.primitives.asymmetric.ed25519")
# RFC 8032, 7.1, test 1: secret key, public key and the signature of the empty message.
SECRET = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
PUBLIC = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")


def key_file(folder: Path, secret: bytes = SECRET) -> Path:
    from cryptography.hazmat.primitives import serialization as form

    pem = ed25519.Ed25519PrivateKey.from_private_bytes(secret).private_bytes(
        form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption()
    )
    (folder / "key.pem").write_bytes(pem)
    return folder / "key.pem"


@pytest.fixture(scope="module")
def signed_once(night: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("signed")
    options = PackOptions(sign_with=key_file(place))
    return pack_incident(night, START, END, place / "pack", options=options)


@pytest.fixture
def signed(signed_once: Path, tmp_path: Path) -> Path:
    """A signed pack of one's own."""
    return Path(shutil.copytree(signed_once, tmp_path / "pack"))


def test_the_public_key_is_that_of_the_rfc(signed: Path):
    said = json.loads((signed / "signature.json").read_text(encoding="utf-8"))
    assert base64.b64decode(said["public_key"]) == PUBLIC
    key = ed25519.Ed25519PublicKey.from_public_bytes(PUBLIC)
    manifest = (signed / "tagmanifest-sha512.txt").read_bytes()
    key.verify(base64.b64decode(said["signature"]), manifest)  # raises when it does not hold


def test_a_signed_pack_is_whole_and_the_same_key_gives_the_same_bytes(
    signed: Path, night: Path, tmp_path: Path
):
    check = verify_pack(signed)
    assert (check.whole, check.signature) == (True, "good")
    options = PackOptions(sign_with=key_file(tmp_path))
    again = pack_incident(night, START, END, tmp_path / "again", options=options)
    assert (again / "signature.json").read_bytes() == (signed / "signature.json").read_bytes()


def test_a_signature_taken_away_is_missed(signed: Path):
    (signed / "signature.json").unlink()
    check = verify_pack(signed)
    assert not check.whole
    assert "signature.json" in check.missing


@pytest.mark.parametrize("place", [5, 30, 90, 150, 200, -1])
def test_any_changed_byte_of_the_signature_file_is_found(signed: Path, place: int):
    data = bytearray((signed / "signature.json").read_bytes())
    data[place] ^= 1
    (signed / "signature.json").write_bytes(bytes(data))
    check = verify_pack(signed)
    assert not check.whole
    assert check.changed == ("signature.json",)


def test_another_key_is_no_match(signed: Path, tmp_path: Path):
    other = signature.read_key(key_file(tmp_path, bytes(32)))
    signature.sign(signed, other)
    check = verify_pack(signed)
    assert (check.whole, check.signature) == (False, "bad")


def test_a_signature_put_to_an_unsigned_pack_is_an_addition(pack: Path, tmp_path: Path):
    signature.sign(pack, signature.read_key(key_file(tmp_path)))
    assert verify_pack(pack).added == ("signature.json",)


def test_a_file_that_is_no_key_is_refused(night: Path, tmp_path: Path):
    (tmp_path / "key.pem").write_text("no key", encoding="utf-8")
    options = PackOptions(sign_with=tmp_path / "key.pem")
    with pytest.raises(InputError, match=r"'key\.pem' holds no private key"):
        pack_incident(night, START, END, tmp_path / "pack", options=options)
    assert not (tmp_path / "pack").exists()
