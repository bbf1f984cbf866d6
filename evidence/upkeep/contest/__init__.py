"""What can be held against a record, group by group; `upkeep.challenge` is the door."""
