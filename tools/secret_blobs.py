#!/usr/bin/env python3
"""Makes tests/data/secret_blobs.csv: blobs and recovery codes as src/records/secrets.h lays them
out, without using any code of the program.

    tools/secret_blobs.py > tests/data/secret_blobs.csv

Argon2id and ChaCha20-Poly1305 are those of Python's cryptography (44 or later); HChaCha20, which
makes the XChaCha of it, follows draft-irtf-cfrg-xchacha-03 section 2.2; the check characters come
from dividing by the code's generator polynomial with tables of logarithms.
"""
import csv
import hashlib
import struct
import sys

from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
POWERS = [1]
while len(POWERS) < 31:
    twice = POWERS[-1] << 1
    POWERS.append(twice ^ 0b100101 if twice & 32 else twice)
LOGS = {value: power for power, value in enumerate(POWERS)}


def times(a, b):
    return POWERS[(LOGS[a] + LOGS[b]) % 31] if a and b else 0


def recovery_code(bits):
    number = int.from_bytes(bits, "big") << 2
    message = [number >> 5 * (25 - i) & 31 for i in range(26)]
    # (z + 1)(z + x) = z^2 + (1 + x) z + x, highest power first
    generator = [1, 1 ^ POWERS[1], POWERS[1]]
    rest = message + [0, 0]
    for i in range(26):
        factor = rest[i]
        for j in range(3):
            rest[i + j] ^= times(factor, generator[j])
    text = "".join(ALPHABET[symbol] for symbol in message + rest[26:])
    return "-".join(text[i : i + 4] for i in range(0, 28, 4))


def hchacha20(key, nonce):
    state = list(struct.unpack("<4I8I4I", b"expand 32-byte k" + key + nonce))

    def add_rotate(a, b, c, bits):
        state[a] = (state[a] + state[b]) & 0xFFFFFFFF
        mixed = state[c] ^ state[a]
        state[c] = (mixed << bits | mixed >> (32 - bits)) & 0xFFFFFFFF

    columns = [(i, i + 4, i + 8, i + 12) for i in range(4)]
    diagonals = [(i, 4 + (i + 1) % 4, 8 + (i + 2) % 4, 12 + (i + 3) % 4) for i in range(4)]
    for _ in range(10):
        for a, b, c, d in columns + diagonals:
            add_rotate(a, b, d, 16)
            add_rotate(c, d, b, 12)
            add_rotate(a, b, d, 8)
            add_rotate(c, d, b, 7)
    return struct.pack("<8I", *(state[:4] + state[12:]))


def blob(kind, person, typed, secret):
    fresh = hashlib.sha512(typed + secret).digest()[:40]
    passes = 2 if kind == 1 else 3
    key = Argon2id(
        salt=fresh[:16], length=32, iterations=passes, lanes=1, memory_cost=65536
    ).derive(typed)
    head = bytes([1, kind]) + fresh
    nonce = fresh[16:]
    sealed = ChaCha20Poly1305(hchacha20(key, nonce[:16])).encrypt(
        bytes(4) + nonce[16:], secret, head + person.encode()
    )
    sum8 = hashlib.sha256(person.encode() + head + sealed).digest()[:8]
    return head + sealed + sum8


def main():
    person = "6f1c2a54-9d0e-4b7a-8c33-51e0a7d4b2f9"
    seed = hashlib.sha256(b"a signing seed").digest()
    print("# blobs of secrets.h, made by tools/secret_blobs.py (Python cryptography, hashlib)")
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["kind", "person", "typed", "secret_hex", "blob_hex"])
    out.writerow(["pin", person, "4711", "", blob(1, person, b"4711", b"").hex()])
    words = "Grün ist die Brücke, 17 Bögen"
    made = blob(2, person, words.encode(), seed)
    out.writerow(["passphrase", person, words, seed.hex(), made.hex()])
    for bits in (bytes(range(0, 256, 17)), bytes(16), bytes([255] * 16)):
        made = blob(3, person, bits, seed)
        out.writerow(["recovery", person, recovery_code(bits), seed.hex(), made.hex()])


main()
