"""The shells over library calls: parse, call, print, exit code.

One module a command, in rooms by what they do.
"""
