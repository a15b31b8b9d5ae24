"""Pages about the sites of a finished run, to take along or to hand out."""

from suitability.sheets.books import Book, Reader, Written, write_sheets, write_sheets_by_parcel
from suitability.sheets.chosen import chosen_sites

__all__ = [
    "Book",
    "Reader",
    "Written",
    "chosen_sites",
    "write_sheets",
    "write_sheets_by_parcel",
]
