"""Pure steps given to the workers of a Dask scheduler: whether they agree, and asking them."""
