"""The JSON interface: the same records and the same acts as on the pages, described by OpenAPI."""
