"""What sets up, starts, tests and measures the project; a package for the sake of its benchmarks."""
