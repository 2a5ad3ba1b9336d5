"""What the tables mean, and the page: `tables`, `page`."""

from __future__ import annotations

import argparse

from routecost.commands.command_options import Add, tell_json


def add_commands(command: Add) -> None:
    """Add the commands."""
    tables = command("tables", _tables, "tell what the columns of every table mean")
    tables.add_argument("table", nargs="?", metavar="TABLE", help="one table, such as prices.csv")

    page = command("page", _page, "open the page in a browser")
    page.add_argument("build", nargs="?", metavar="BUILD", help="the build's folder (the demo if left out)")
    page.add_argument("--port", type=int, metavar="N", help="port to listen on")
    page.add_argument("--no-browser", action="store_true", help="serve only")


def _tables(options: argparse.Namespace) -> int:
    from routecost.reports.json.tables_json import tables_json
    from routecost.reports.text.tables_text import print_tables

    if options.json:
        return tell_json(tables_json(options.table))
    from routecost.reports.text.terminal import console

    print_tables(console(), options.table)
    return 0


def _page(options: argparse.Namespace) -> int:
    from routecost.page.serve import serve

    return serve(options.build, options.port, browser=not options.no_browser)
