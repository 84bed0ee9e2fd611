"""Drawings, reports and mould files of a plan."""
