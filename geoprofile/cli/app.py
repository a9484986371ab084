"""The command tree. Each command lives in a file of its own; none imports anything heavy at the top."""

from __future__ import annotations

import typer

from . import about, check, composition, describe, explain, next_pits, run_all, soil_names, stages, start, transect

app = typer.Typer(
    name="geoprofile",
    help="From soil pit descriptions to maps that other people act on.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=(
        "Exit codes: 0 done, 1 our fault, 2 usage or settings, 3 the input (check: an error is listed), 4 too little data for the method, "
        "5 a plug-in, 6 the output, 130 stopped."
    ),
)

SHORT = {
    "new": "Start a survey: survey.toml and a blank form.",
    "check": "List what is wrong with the descriptions.",
    "run": "Run everything, from pits to map.",
    "pits": "Read and check the pit descriptions.",
    "attributes": "Summarise each pit, as intervals.",
    "terrain": "Compute terrain from the elevation raster.",
    "surfaces": "Map attributes, with intervals and scores.",
    "zones": "Draw draft zones; tables by zone and parcel.",
    "salvage": "Topsoil to strip: depth, area, bank volume.",
    "publish": "Write GeoPackage, tables, report and map.",
    "transect": "Draw profiles at true elevation.",
    "next-pits": "Say where to dig next.",
    "describe": "Print a pit as a publishable description.",
    "soil-names": "Name each soil from its record, as advice.",
    "composition": "Take hand-edited polygons back.",
    "explain": "Tell what a word, setting or symbol means.",
    "doctor": "Print versions, drivers, plug-ins.",
    "commands": "List every command with its options.",
}
"""One line a command for the overview; the command's own help says more."""

COMMANDS = {
    "new": start.new,
    "check": check.check,
    "run": run_all.run,
    **dict(stages.commands()),
    "transect": transect.transect,
    "next-pits": next_pits.next_pits,
    "describe": describe.describe,
    "soil-names": soil_names.soil_names,
    "composition": composition.composition,
    "explain": explain.explain,
    "doctor": about.doctor,
    "commands": about.commands,
}

for _name, _function in COMMANDS.items():
    app.command(_name, short_help=SHORT[_name])(_function)


@app.callback(invoke_without_command=True)
def _top(version: bool = typer.Option(False, "--version", help="Print the version and stop.", is_eager=True)) -> None:
    if version:
        from .. import __version__

        typer.echo(f"geoprofile {__version__}")
        raise typer.Exit()
