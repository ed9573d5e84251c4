"""The keystroke-level model: how long a practised person needs for a series of acts, in seconds.

Card, Moran and Newell (1980), as restated by Kieras in his notes on the model; values from memory, as the
project's reference (reliability.md section 7) gives them: K 0.28 for the average typist who is no typist and
0.50 for random characters, P 1.10, H 0.40, M 1.20 to 1.35; validated within about 21 %.

A tap on glass within reach of the thumb counts as K with random characters, as that reference reckons it: the
hand is on the device already, so there is neither P nor H. M comes before each unit of thought: to find the
check, to read and hold the value, to compare and save. The slower values are taken throughout.
"""

K, P, H, M = 0.50, 1.10, 0.40, 1.35


def seconds(*, taps: int, thoughts: int, points: int = 0, homings: int = 0) -> float:
    """Give the time of so many taps, mental acts, pointings from afar and changes of hand."""
    return taps * K + thoughts * M + points * P + homings * H
