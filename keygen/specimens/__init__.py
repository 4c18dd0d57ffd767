"""The specimen record, its journal, and observations written by hand."""
