"""The papers of an issued version, each for one reader."""
