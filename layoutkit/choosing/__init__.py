"""From what a bowler needs to a ball and a layout: wants, search, proposals, the second ball."""
