"""The end of a run as data: what is to be measured, whether it is done, how it came out, and what the kiln taught.

A door to the core, for views and actions. It reads rows and writes none.
"""
