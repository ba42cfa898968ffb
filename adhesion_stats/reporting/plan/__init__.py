"""Documents about planning: the plan before the first pull as page, notebook, drawings and forms."""
