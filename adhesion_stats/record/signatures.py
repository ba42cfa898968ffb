"""Detached signatures of a manifest: Ed25519 (RFC 8032), each in a file of its own beside it.

A signature says that the holder of a key saw exactly this manifest, and with it every file that the manifest names. Who
holds the key is not in the signature: an auditor compares with a public key that came another way. Keys are files in
PEM (PKCS #8 and SubjectPublicKeyInfo), such as ``openssl genpkey -algorithm ed25519`` writes.

::

    manifest.tester.sig     {"algorithm": "Ed25519", "format": ..., "manifest_sha256": ..., "public_key": base64,
                             "signature": base64, "signer": "tester"}
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import re
from dataclasses import dataclass

from adhesion_stats.errors import WrongUsage
from adhesion_stats.record.canonical import canonical_bytes, read_results

__all__ = ["Signature", "fingerprint", "is_signature", "public_key_of", "read_signature", "signature_name", "signed"]

FORMAT, FORMAT_VERSION, ALGORITHM = "adhesion_stats signature", 1, "Ed25519"
_SIGNER = re.compile(r"[A-Za-z0-9_-]{1,40}")
_NAME = re.compile(r"manifest\.([A-Za-z0-9_-]{1,40})\.sig")
_CONTEXT = b"adhesion_stats manifest, version 1\0"  # what is signed can't be taken for something else


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature as found: ``valid`` says whether it fits the manifest and the key that it carries itself."""

    signer: str
    public_key: bytes
    valid: bool

    @property
    def key(self) -> str:
        """Fingerprint of the key."""
        return fingerprint(self.public_key)


def signature_name(signer: str) -> str:
    """Return the name of the file for a signer. Raises ``WrongUsage`` for a name that no file should have."""
    if _SIGNER.fullmatch(signer) is None:
        raise WrongUsage(
            f"{signer!r}: a signer is named with 1 to 40 letters, digits, - or _, such as tester or engineer."
        )
    return f"manifest.{signer}.sig"


def is_signature(name: str) -> bool:
    """Whether a file of this name is a signature, which the manifest itself can't name."""
    return _NAME.fullmatch(name) is not None


def fingerprint(public_key: bytes) -> str:
    """SHA-256 (hex) of the 32 bytes of a public key."""
    return hashlib.sha256(public_key).hexdigest()


def signed(manifest: bytes, *, signer: str, private_key_pem: bytes) -> bytes:
    """Return the contents of the signature file.

    Raises
    ------
    WrongUsage
        When the key is no unencrypted Ed25519 private key in PEM, or the signer's name can't be a file's.
    """
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat, load_pem_private_key

    signature_name(signer)
    try:
        key = load_pem_private_key(private_key_pem, password=None)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise WrongUsage(f"The key file is no unencrypted private key in PEM: {error}") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise WrongUsage("The key file holds another kind of key; make one with: openssl genpkey -algorithm ed25519")
    public = key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
    return canonical_bytes(
        {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "algorithm": ALGORITHM,
            "signer": signer,
            "manifest_sha256": hashlib.sha256(manifest).hexdigest(),
            "public_key": base64.b64encode(public).decode(),
            "signature": base64.b64encode(key.sign(_CONTEXT + manifest)).decode(),
        }
    )


def read_signature(name: str, content: bytes, manifest: bytes) -> Signature:
    """Return the signature in a file called ``name``, checked against the bytes of the manifest.

    Raises
    ------
    ValueError
        When the file is no signature of this form.
    """
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    found = read_results(content)
    if (found.get("format"), found.get("format_version"), found.get("algorithm")) != (
        FORMAT,
        FORMAT_VERSION,
        ALGORITHM,
    ):
        raise ValueError("it is no signature of this form")
    signer, given, public = (found.get(key) for key in ("signer", "signature", "public_key"))
    if not (isinstance(signer, str) and isinstance(given, str) and isinstance(public, str)):
        raise ValueError("signer, signature and public_key must be texts")  # noqa: TRY004 - one error for a bad file
    if name != signature_name(signer):
        raise ValueError(f"it names the signer {signer!r}")
    try:
        key, signature = base64.b64decode(public, validate=True), base64.b64decode(given, validate=True)
        verifier = Ed25519PublicKey.from_public_bytes(key)
    except (binascii.Error, ValueError) as error:
        raise ValueError("key or signature is no base64 of the right length") from error
    valid = True
    try:
        verifier.verify(signature, _CONTEXT + manifest)
    except InvalidSignature:
        valid = False
    return Signature(signer, key, valid)


def public_key_of(pem: bytes) -> bytes:
    """Return the 32 bytes of a public key in PEM (or of the public half of a private one).

    Raises
    ------
    WrongUsage
        When it is no Ed25519 key in PEM.
    """
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        PublicFormat,
        load_pem_private_key,
        load_pem_public_key,
    )

    try:
        key = load_pem_private_key(pem, None).public_key() if b"PRIVATE KEY" in pem else load_pem_public_key(pem)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise WrongUsage(f"This is no public key in PEM: {error}") from error
    if not isinstance(key, Ed25519PublicKey):
        raise WrongUsage("This is another kind of key than Ed25519.")
    assert not isinstance(key, Ed25519PrivateKey)
    return key.public_bytes(Encoding.Raw, PublicFormat.Raw)
