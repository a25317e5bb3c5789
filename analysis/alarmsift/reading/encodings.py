"""Which letters do the bytes stand for? UTF-8 first, then what the bytes themselves suggest."""

from __future__ import annotations

import codecs

from alarmsift.reading.disk import Unusable

_BOMS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
# One-byte code pages seen on ships' PCs; the first is taken when the bytes don't decide.
_CODE_PAGES = ["cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1257", "latin_1", "cp437"]
# Their letters differ from cp1252 in a few places only; believed when the language fits well.
_NEIGHBOURS = {"cp1250", "cp1254", "cp1257", "cp437", "latin_1"}
_SURE = 0.5  # coherence of the library's language guess
_LETTERS = 5  # different letters beyond ASCII; fewer can be of any language
_SAMPLE = 200_000  # bytes that the guess looks at
_PIECE = 1 << 22  # bytes that are decoded at a time
_BINARY_SHARE = 0.05  # control characters in text files are rare; pictures and programs are full


def to_utf8(data: bytes) -> tuple[bytes, str]:
    """Return the content as UTF-8 without mark, and the name of the encoding found.

    Characters that can't be read become U+FFFD, so that only their own cell suffers.
    """
    for mark, name in _BOMS:
        if data.startswith(mark):
            return _again(data, name)
    name = _utf16(data)
    if name:
        return _again(data, name)
    _refuse_binary(data)
    if data.isascii():
        return data, "utf-8"
    if _is_utf8(data):
        return data, "utf-8"
    return _again(data, _guess(data))


def _is_utf8(data: bytes) -> bool:
    """Tell whether all is good UTF-8, a piece at a time: the text itself is not needed."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        for low in range(0, len(data), _PIECE):
            decoder.decode(data[low : low + _PIECE], final=low + _PIECE >= len(data))
    except UnicodeDecodeError:
        return False
    return True


def _again(data: bytes, name: str) -> tuple[bytes, str]:
    text = data.decode(name, errors="replace").lstrip("\ufeff")
    return text.encode("utf-8", errors="replace"), name


def _utf16(data: bytes) -> str:
    """Return the UTF-16 variant when every second byte is mostly zero, else blank."""
    sample = data[:_SAMPLE]
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    half = len(sample) / 2
    if odd > 0.7 * half and even < 0.1 * half:
        return "utf-16-le"
    if even > 0.7 * half and odd < 0.1 * half:
        return "utf-16-be"
    return ""


def _refuse_binary(data: bytes) -> None:
    sample = data[:_SAMPLE]
    text = sum(sample.count(bytes([c])) for c in (9, 10, 12, 13))
    control = sum(sample.count(bytes([c])) for c in range(32))
    if control - text > _BINARY_SHARE * len(sample):
        raise Unusable("holds binary data, not text")


def _guess(data: bytes) -> str:
    """Return the code page that fits; UTF-8 when most of its letters are good UTF-8."""
    text = data.decode("utf-8", errors="replace")
    broken = text.count("\ufffd")
    whole = len(text) - len(text.encode("ascii", "ignore")) - broken
    if whole > broken:
        return "utf-8"
    # Slow to import, and most logs never need it.
    from charset_normalizer import from_bytes  # noqa: PLC0415  (slow, seldom needed)

    first = len(data) - len(data.lstrip(bytes(range(128))))
    start = max(0, first - _SAMPLE // 2)
    best = from_bytes(data[start : start + _SAMPLE], cp_isolation=_CODE_PAGES).best()
    letters = len(set(data[start : start + _SAMPLE].translate(None, bytes(range(128)))))
    sure = best is not None and best.coherence >= _SURE and letters >= _LETTERS
    if best is None or (best.encoding in _NEIGHBOURS and not sure):
        return _CODE_PAGES[0]
    return str(best.encoding)
