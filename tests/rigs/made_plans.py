"""The head that made-up plans begin with, for a test that is about their joints."""

HEAD = """\
plan: axle
title: Axle
revision: "1"
source: Made up
unit: N·m
tolerance: 10 %
joints:
"""
