"""Whose fault is it: what is known of a batch, as `inventory.calc.causes` takes it, and its answer."""
