"""Steps of the schema, in order."""
