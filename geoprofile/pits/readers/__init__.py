"""Readers: any file of the field becomes a :class:`~geoprofile.pits.readers.raw.RawTable` of text cells.

A reader is an object with ``suffixes`` (file endings it takes, lower case) and
``read(path, *, sheet, header_row) -> RawTable``. It enters through the entry
points ``geoprofile.readers``, ours as well as anybody's.
"""
