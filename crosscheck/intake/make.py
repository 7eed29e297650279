"""Check characters of ISO/IEC 7064 by python-stdnum, for made-up tags.

    python3 -m venv ENV && ENV/bin/pip install python-stdnum==2.2
    ENV/bin/python make.py > check_characters.csv
"""

import random

from stdnum.iso7064 import mod_11_10, mod_37_36

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
DIGITS = "0123456789"
SEED = 7064


def main() -> None:
    draw = random.Random(SEED)
    texts = [("37,36", text) for text in ("A", "Z", "0", "CB17A", "AD3", "TW1", "A12425GABC1234002")]
    texts += [("11,10", text) for text in ("0", "1", "9", "17", "0794", "79462")]
    # Every single character once, then longer and longer texts.
    texts += [("37,36", c) for c in DIGITS + LETTERS] + [("11,10", c) for c in DIGITS]
    for length in list(range(2, 25)) * 6:
        texts.append(("37,36", "".join(draw.choice(DIGITS + LETTERS) for _ in range(length))))
        texts.append(("11,10", "".join(draw.choice(DIGITS) for _ in range(length))))
    modules = {"37,36": mod_37_36, "11,10": mod_11_10}
    print("system;text;check")
    for system, text in dict.fromkeys(texts):
        print(f"{system};{text};{modules[system].calc_check_digit(text)}")


main()
