"""A detached Ed25519 signature (RFC 8032) over a pack's SHA-512 tag manifest.

The tag manifest names the digest of every manifest, and these of every file, so it stands for the
whole pack. The same key and pack give the same signature.
"""

from __future__ import annotations

import base64
import hashlib
import json
from pathlib import Path
from typing import Any

from alarmsift.errors import InputError

SIGNATURE_FILE = "signature.json"
SIGNED_FILE = "tagmanifest-sha512.txt"
_NEEDS = InputError(
    "signatures need the package 'cryptography', which is not installed.",
    mend="Install it with: python -m pip install alarmsift[sign]",
)


def read_key(path: Path) -> Any:
    """Return the Ed25519 private key of a PEM file.

    Raises
    ------
    InputError
        When the library is missing, or the file holds no such key.
    """
    try:
        from cryptography.exceptions import UnsupportedAlgorithm  # noqa: PLC0415  (an optional extra)
        from cryptography.hazmat.primitives.asymmetric.ed25519 import (  # noqa: PLC0415  (an optional extra)
            Ed25519PrivateKey,
        )
        from cryptography.hazmat.primitives.serialization import (  # noqa: PLC0415  (an optional extra)
            load_pem_private_key,
        )
    except ImportError as error:
        raise _NEEDS from error
    mend = "Make one with: openssl genpkey -algorithm ed25519 -out key.pem"
    try:
        key = load_pem_private_key(path.read_bytes(), password=None)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise InputError(
            f"'{path.name}' holds no private key in PEM form without a password.", mend=mend
        ) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise InputError(f"the key in '{path.name}' is not an Ed25519 key.", mend=mend)
    return key


def public_text(key: Any) -> str:
    """Return the public key of a private one, its 32 bytes as base64."""
    return base64.b64encode(key.public_key().public_bytes_raw()).decode("ascii")


def sign(pack: Path, key: Any) -> None:
    """Write the signature of a sealed pack beside its manifests."""
    signed = key.sign((pack / SIGNED_FILE).read_bytes())
    (pack / SIGNATURE_FILE).write_bytes(_document(public_text(key), signed))


def _document(public: str, signature: bytes) -> bytes:
    said = {
        "algorithm": "Ed25519",
        "signed_file": SIGNED_FILE,
        "public_key": public,
        "signature": base64.b64encode(signature).decode("ascii"),
    }
    return (json.dumps(said, indent=1) + "\n").encode("ascii")


def fingerprint(public: str) -> str:
    """Return the SHA-256 of a public key's bytes: short enough to read out over the telephone."""
    return hashlib.sha256(base64.b64decode(public)).hexdigest()


def holds(pack: Path, public: str) -> bool:
    """Tell whether the pack's signature is that of its tag manifest, by the key ``public``.

    Raises
    ------
    InputError
        When the library is missing.
    """
    try:
        from cryptography.exceptions import InvalidSignature  # noqa: PLC0415  (an optional extra)
        from cryptography.hazmat.primitives.asymmetric.ed25519 import (  # noqa: PLC0415  (an optional extra)
            Ed25519PublicKey,
        )
    except ImportError as error:
        raise _NEEDS from error
    written = (pack / SIGNATURE_FILE).read_bytes()
    try:
        signature = base64.b64decode(json.loads(written)["signature"], validate=True)
        key = Ed25519PublicKey.from_public_bytes(base64.b64decode(public, validate=True))
        key.verify(signature, (pack / SIGNED_FILE).read_bytes())
    except (ValueError, KeyError, TypeError, InvalidSignature):
        return False
    return written == _document(public, signature)
