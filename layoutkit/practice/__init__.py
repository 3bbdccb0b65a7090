"""Practice for a trainee: problems from seeds, their marking, and what comes back when."""
