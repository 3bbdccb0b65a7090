"""From a job to a plan: layout, grip, holes, weights, certainty, marking, and other layouts of it."""
