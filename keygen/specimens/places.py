"""Exact locations in free text: found and withheld.

A report goes to readers who may not know where a site lies (ARPA section 9, 16 U.S.C. 470hh; NHPA
section 304, 54 U.S.C. 307103). Columns of locations never come here; this is for what somebody
wrote into a note. Squares of a site's own grid (`N102 E97`) name no place outside it and stay.
"""

from __future__ import annotations

import re
from dataclasses import replace

from keygen.core.examine import Piece

# Minutes, seconds and the minus sign as typesetters print them.
_PRIME, _DOUBLE, _MINUS = "['\u2032\u2019]", "(?:[\"\u2033\u201d]|'')", "[-+\u2212]"
_MINUTES = (
    rf"\d{{1,3}}\s*[°º]\s*\d{{1,2}}(?:\.\d+)?\s*{_PRIME}(?:\s*\d{{1,2}}(?:\.\d+)?\s*{_DOUBLE})?"
)
_DEGREES = rf"{_MINUS}?\d{{1,3}}\.\d{{3,}}\s*[°º]?"
_SIZE = r"(?!\d|\s?(?:mm|cm|g)\b)"  # what follows shows that these are no degrees
_EASTING, _NORTHING = r"0?\d{6}(?:\.\d+)?\s?m?E?", r"\d{7}(?:\.\d+)?(?:\s?m?\s?N)?"
_OPEN_CODE = "[2-9CFGHJMPQRVWX]"  # the signs of an open location code (plus code)
_SECTION = r"(?:Sec(?:tion|t|\.)?\.?\s*\d{1,2}\b[,\s]*)"
_QUARTERS = r"(?:(?:[NS][EW]|[NSEW])\s?(?:1/[24]|[¼½])[,\s]*(?:of\s+)?(?:the\s+)?)+"
_TOWNSHIP = r"\bT(?:ownship|wp|\.)?\.?\s*\d{1,3}\s?[NS]\.?"
_RANGE = r"R(?:ange|ge|\.)?\.?\s*\d{1,3}\s?[EW]\b\.?"
_FORMS = (
    # degrees, minutes and seconds; one of the pair is enough
    rf"[NSEW]?\s?{_MINUTES}\s*[NSEW]?(?:[\s,;/]*[NSEW]?\s?{_MINUTES}\s*[NSEW]?)?",
    # decimal degrees: a pair, or one that is called so or has its hemisphere
    rf"\b(?:lat|lon|long|latitude|longitude)\b\W{{0,3}}{_DEGREES}(?:\s?[NSEW]\b)?",
    (
        r"\blat(?:itude)?\b\W{0,3}\d{1,2}\.\d+\W{1,4}(?:[NS]\b\W{0,4})?"
        r"lon(?:g|gitude)?\b\W{0,3}\d{1,3}\.\d+(?:\s?[EW]\b)?"
    ),
    rf"(?<![\d.]){_DEGREES}\s?[NS]?[\s,;/]+{_DEGREES}{_SIZE}(?:\s?[EW]\b)?",
    rf"(?<![\d.]){_DEGREES}\s?[NSEW]\b",
    # grid references: UTM with easting and northing, either of them alone, MGRS
    rf"\bUTM\b[\s:]*(?:zone\s*)?\d{{1,2}}\s?[C-HJ-NP-X]?[\s,/:]+{_EASTING}[\s,/]+{_NORTHING}\b",
    rf"\b(?:\d{{1,2}}\s?[C-HJ-NP-X][\s,/:]+)?{_EASTING}[\s,/]+{_NORTHING}\b",
    r"\b(?:easting|northing|[EN])[\s:=.]*(?:0?\d{6,7}|(?:\d,)?\d{3},\d{3})(?:\.\d+)?\b",
    r"(?<![\d.])\d{6,7}(?:\.\d+)?\s?m?\s?[EN]\b",
    r"\b\d{1,2}[C-HJ-NP-X]\s?[A-HJ-NP-Z]{2}\s?\d{3,5}\s?\d{3,5}\b",
    # codes that stand for a square of a few metres
    rf"(?<!\w){_OPEN_CODE}{{8}}\+{_OPEN_CODE}{{2,3}}\b",
    r"///\w+\.\w+\.\w+",
    # parcels of the land register
    r"\b(?:parcel|APN)\b[\s:#]*(?:(?:no|number|id)\b\.?[\s:#]*)?\d[\d.-]{4,}\d",
    r"\bLot\s+\d+\w?,?\s+Block\s+\w+",
    # legal descriptions: township and range, with section and quarters; a quarter of a section
    (
        rf"(?:{_QUARTERS})?{_SECTION}?{_TOWNSHIP}[,;\s]*{_RANGE}"
        rf"(?:[,;\s]*{_SECTION})?(?:[,;\s]*{_QUARTERS})?"
    ),
    rf"{_QUARTERS}{_SECTION}",
)
INSTEAD = "[location withheld]"
_PLACES = re.compile("|".join(f"(?:{form})" for form in _FORMS), re.IGNORECASE)


def withheld(text: str, instead: str = INSTEAD) -> str:
    """Return a text with every exact location in it replaced by other words."""
    return _PLACES.sub(lambda found: _kept_space(found[0], instead), text)


def _kept_space(found: str, instead: str) -> str:
    lead = found[: len(found) - len(found.lstrip(" ,;"))]
    tail = found[len(found.rstrip(" ,;")) :]
    return f"{lead}{instead}{tail}"


def holds_place(text: str) -> bool:
    """Tell whether an exact location stands in a text."""
    return _PLACES.search(text) is not None


def of_piece(piece: Piece, instead: str = INSTEAD) -> Piece:
    """Return a piece without exact locations in anything that a person wrote freely."""
    own = piece.analyst
    return replace(
        piece,
        notes=withheld(piece.notes, instead),
        details={name: withheld(text, instead) for name, text in piece.details.items()},
        analyst=own
        and replace(own, call=withheld(own.call, instead), reason=withheld(own.reason, instead)),
        history=tuple(
            replace(c, what=withheld(c.what, instead), why=withheld(c.why, instead))
            for c in piece.history
        ),
    )
