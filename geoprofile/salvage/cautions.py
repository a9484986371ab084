"""What must be said beside every stripping depth."""

CAUTIONS = (
    "caution: over-stripping mixes subsoil into the topsoil and cannot be undone; let the colour and whoever stands beside the "
    "machine decide, not this table alone, and stop where the colour changes before the stated depth",
    "caution: depths between pits are inferred; a volume is an estimate with the interval stated, not a quantity to contract on",
    "caution: have buried lines located before any digging (a locate gives no depth), keep to the local rules for pits and "
    "trenches, and clean machines between fields where clubroot or weeds are known",
    "caution: salvage plans are the practice of licensed professionals where the law says so; this is not one",
)
