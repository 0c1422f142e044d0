"""Before the work: a day by the hour, when to begin, and what a job will take."""
