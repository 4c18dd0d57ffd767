"""Whole collections: a table in, descriptions, calls and reports out."""
