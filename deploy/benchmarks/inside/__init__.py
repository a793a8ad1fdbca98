"""Programs that run in the project: `python -m deploy.benchmarks.inside stock --number 20`."""
