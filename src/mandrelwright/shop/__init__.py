"""The shop: what was read of this mould and this part, and what to do about it."""
