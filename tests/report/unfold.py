"""Unfolds packed series by the words of RFC 1951, RFC 4648 and LEB128, number by number."""

from __future__ import annotations

import base64
import zlib

import numpy as np


def unfold(words: str, step: float) -> np.ndarray:
    raw = zlib.decompress(base64.b64decode(words), wbits=-15)
    values, code, shift, count = [], 0, 0, 0
    for byte in raw:
        code |= (byte & 0x7F) << shift
        shift += 7
        if byte & 0x80:
            continue
        if code:
            change = code - 1
            count += -(change // 2) - 1 if change % 2 else change // 2
            values.append(count * step)
        else:
            values.append(np.nan)
        code = shift = 0
    return np.array(values)
