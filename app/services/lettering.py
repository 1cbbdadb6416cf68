"""Whether all that a certificate says can be printed. Named by the press, not imported: reading
the fonts takes a while."""

from app.documents.certificate import letters_missing

__all__ = ["letters_missing"]
