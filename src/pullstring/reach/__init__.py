"""LAW: what hangs on what. Facts, rules, the least fixed point, and what goes dark when something is taken away."""
