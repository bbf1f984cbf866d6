"""A ZIP of stored members, put together in one way only: what a pack is (OUTPUTS § 4).

layout   every byte of the container but the members' own: what is written, and what is expected
writing  a new one, streamed; the same members make the same bytes
reading  anybody's, walked from its first byte to its last before any member is used

It knows nothing of roofs. What deviates from the layout by one byte is refused whole: no member is
packed, encrypted, a link or a folder, none overlaps another, none stands twice, and nothing lies
ahead, between or behind.
"""

from evidence.stored.layout import Member, is_flat
from evidence.stored.reading import START, StoredZip
from evidence.stored.writing import StoredWriter, Sum

__all__ = ["START", "Member", "StoredWriter", "StoredZip", "Sum", "is_flat"]
