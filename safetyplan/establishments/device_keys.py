"""Signatures made on a device: ECDSA P-256 with SHA-256, as WebCrypto writes them (r, s, 32 bytes each)."""

from base64 import b64decode
from binascii import Error as Base64Error

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256


def signature_holds(public_key: str, raw: bytes, signature: str) -> bool:
    """Tell whether the base64 signature was made over the bytes with the key's private half."""
    try:
        raw_signature = b64decode(signature, validate=True)
        numbers = [int.from_bytes(raw_signature[i : i + 32]) for i in (0, 32)]
        key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), b64decode(public_key))
        if len(raw_signature) != 64:
            return False
        key.verify(encode_dss_signature(*numbers), raw, ec.ECDSA(SHA256()))
    except (InvalidSignature, Base64Error, ValueError):
        return False
    return True
