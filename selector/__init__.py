"""Meltwise: name a solder alloy for a product and defend the choice.

The floors of the house, lowest first: `errors`, `units`, `figures`, `datafiles`, `composition`, `verdict`, `fields`,
`brief`, `link`, `policy`, `catalogue`, `melting`, `joint`, `durability`, `process`, `compliance`, `screening`,
`scoring`, `decision`, `findings`, `challenge`, `record`, `cli`, `ui`. A floor imports only floors below it.
"""

__version__ = "0.1.0"
