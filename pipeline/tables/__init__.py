"""One SQL file per table of jobs, visits, lines, machines and parts."""
