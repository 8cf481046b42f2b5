"""What the tables of use environments and material sets must look like; they ship and serve every catalogue."""

from collections.abc import Mapping

import pandera.pandas as pa

from selector.catalogue.schemas import column, grade, note, number, origin, source, table

LIFE_SCHEMAS: Mapping[str, pa.DataFrameSchema] = {
    "environments": table(
        "environments",
        "Use environments, editable defaults that nobody has confirmed",
        "environment",
        environment=column("A lasting id of the row", unique=True),
        use=column("The use; several rows of one use are a mix"),
        low_c=number("Coldest that the use knows, degC", low=-273.15, high=400),
        high_c=number("Hottest that the use knows, degC", low=-273.15, high=400),
        swing_k=number("Usual cyclic range, K", low=0, high=400),
        dwell_h=number("Half-cycle dwell, h", required=False, low=0, high=10_000),
        cycles_per_year=number("Cycles a year", low=0, high=1e6),
        years_low=number("Shortest life, years", required=False, low=0, high=100),
        years_high=number("Longest life, years", required=False, low=0, high=100),
        risk_percent=number("Accepted share of failures over life, %", required=False, low=0, high=100),
        standing=column("Default, or a second recollection", one_of=("editable default", "second recollection")),
        source=source(),
        origin=origin(),
        grade=grade(),
        note=note(),
    ),
    "material-sets": table(
        "material-sets",
        "Which materials of a joint go together, need a test, or are known bad",
        "row",
        row=column("A lasting id of the row", unique=True),
        when=column("The materials that the row speaks of, as `kind=value`, set apart by semicolons"),
        answer=column("What is known of them together", one_of=("compatible", "needs a test", "known bad")),
        test=column("The test that would decide", required=False),
        standard=column("By which standard", required=False),
        settles=column("For a test result: the rows that it settles", required=False),
        reason=column("Why"),
        source=source(),
        origin=origin(),
        grade=grade(),
    ),
}
