"""Invented shops, and rules for their next mould: what learning is worth."""
