"""`python -m rangeledger` is the command `rangeledger`."""

from rangeledger.pipelines.main import main

main()
