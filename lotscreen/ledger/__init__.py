"""The ledger: what happened to each lot, in the order it was written down, never rewritten.

One chain of digests a lot (:mod:`lotscreen.ledger.chain`), kept in SQLite or, for several
desks, in PostgreSQL (:mod:`lotscreen.ledger.store`). People stand in it as codes; who they
are is in a table of its own that can be erased (:mod:`lotscreen.ledger.persons`).
"""
