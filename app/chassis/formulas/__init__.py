"""Every characteristic from the associated features: pure formulas, one file a part of the machine.

Each formula runs with derivatives and over many trials alike (`geometry.dual`). What a survey
must show for a formula to be used is decided with derivatives; over trials everything is computed
and a trial without an answer has NaN.
"""
