"""Pages of the report; one file a page, listed in ``register``."""
