/** Micrometres in a thousandth of an inch, exactly: an inch is 25.4 mm. */
export const MIL_UM = 25.4;
