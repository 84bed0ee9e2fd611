"""Numbers only: floats and arrays in SI, axes (draw, layer, place); no files, units or messages."""
