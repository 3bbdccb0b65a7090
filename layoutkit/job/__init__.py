"""What a shop writes down: the record, the rule sets, the shop's own file, and how they are read."""
