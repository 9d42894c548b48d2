"""What takes seconds to load, loaded once for many tests: the command, and the library of the data contract.

Each command and each check still runs in a process of its own, forked from one that has loaded all it needs. What a
process does from its very start is tested by processes that are started as a user starts them.
"""
