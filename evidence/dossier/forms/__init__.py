"""The first page of each form that is about the whole record, as text."""
