"""The shop's book: customers, their grips over time, balls, jobs and weighings in one SQLite file."""
