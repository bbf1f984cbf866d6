"""roof-evidence: prove the upkeep of a recreational vehicle's roof."""
