"""A made-up Bluetooth service on a message bus of its own, for a collector whose own Bluetooth library stays untouched.

What it answers is what BlueZ was seen to answer, as far as a wrench that sends text over GATT needs it.
"""
