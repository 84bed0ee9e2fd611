"""Migrations of the shop log, run by shop.engine; each file in versions is one step up."""
