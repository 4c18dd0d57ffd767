"""Exact locations in free text are withheld, and nothing else is.

The forms are those of the trade: decimal degrees, degrees and minutes, UTM and MGRS references,
and the township, range and section of the public land survey. The places are made up.
"""

from __future__ import annotations

import pytest

from keygen.core.examine import AnalystCall, Change, Piece
from keygen.specimens.places import of_piece, withheld
from keygen.specimens.provenience import is_exact

MARK = "[X]"


@pytest.mark.parametrize(
    "place",
    [
        "35.12345, -83.54321",
        "35.12345 N 83.54321 W",
        "-83.543/35.123",
        "latitude 35.123",
        "Lat: 35.12345°",
        "35°12'30\" N, 83°30'15\" W",
        "35° 12.5' N",
        "N 35° 12\u2032 30\u2033",
        "UTM 17S 423456 3901234",
        "UTM Zone 17, 423456E 3901234N",
        "17S 423456mE 3901234mN",
        "E 423456",
        "easting: 423456.7",
        "3901234 N",
        "17S KV 12345 67890",
        "T12N R5W Sec. 14",
        "NE 1/4 of the SW 1/4 of Section 14, T. 12 N., R. 5 W.",
        "SW¼ Sec 14",
        "17S 0412345 / 3901234",
        "UTM: 17/623451/3901234",
        "UTM 17S 423456.2 3901234.8",
        "E 423,456 N 3,901,234",
        "lat 35.2 long -83.5",
        "86PX7F3M+4C",
        "///apple.pear.plum",
        "Parcel 045-023.00",
        "Lot 12, Block 4",
    ],
)
def test_is_withheld(place: str) -> None:
    """A location is replaced, and the words around it stay with their spaces."""
    told = withheld(f"Found at {place} by the stream.", MARK)
    assert told.startswith(f"Found at {MARK}")
    assert told.endswith(" by the stream.")
    assert not any(sign.isdigit() for sign in told)
    assert is_exact(place)


@pytest.mark.parametrize(
    "text",
    [
        "N102 E97, level 3",
        "square 15, NE quadrant, 20-30 cm",
        "10YR 5/3, 34.2 x 21.05 mm, 12.345 g",
        "figures of 12.345 and 6.789 mm; 12.345 6.789 mm",
        "an edge of 45° and a notch of 110°",
        "site 31MG22, bag 1234567, 2026-03-17",
        "Feature 12, E half, T12",
        "1/2 of the base is gone; Sec. 3 of the trench",
        "type N 9/ and 8900-8500 radiocarbon years",
        "34.2 long, 22.1 wide, lot 12, parcel 3 of the survey",
        "Lat. edge worn; 12.1 long",
        "FS 22334455+6; n = 12,345",
    ],
)
def test_stays(text: str) -> None:
    """Grid squares, measurements, colours, catalogue numbers and dates stay as they are."""
    assert withheld(text, MARK) == text


def test_of_a_whole_piece() -> None:
    """Notes, details and the analyst's own words are gone over; numbers and readings are not."""
    place = "35.12345, -83.54321"
    piece = Piece(
        label="A 1",
        notes=f"at {place}",
        details={"provenience": place, "site": "Low Field"},
        analyst=AnalystCall(f"Kirk {place}", f"found {place}", "X. T."),
        history=(Change("2026-05-04", "X. T.", "moved", f"lies at {place}"),),
    )
    told = of_piece(piece, MARK)
    assert told.notes == f"at {MARK}"
    assert told.details == {"provenience": MARK, "site": "Low Field"}
    assert told.analyst == AnalystCall(f"Kirk {MARK}", f"found {MARK}", "X. T.")
    assert told.history == (Change("2026-05-04", "X. T.", "moved", f"lies at {MARK}"),)
    assert told.label == "A 1"
