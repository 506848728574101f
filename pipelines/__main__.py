"""`python -m pipelines` is the command `rangeledger`."""

from pipelines.main import main

main()
