"""How help is laid out: what to type as the manual has it, one line a command, nothing about types."""

from __future__ import annotations

from typing import Any

from typer.core import TyperCommand, TyperGroup


class HelpfulCommand(TyperCommand):
    """A command whose help shows arguments and options by the names the manual uses."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """What to type after the command: arguments, the options that must be there, the others."""
        needed = [_typed(param) for param in self.params if _is_option(param) and param.required]
        arguments = [param.metavar or param.name for param in self.params if not _is_option(param)]
        return [*map(str, arguments), *needed, "[OPTIONS]"]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Arguments and options, each in a list."""
        params = self.get_params(ctx)
        arguments = [(str(p.metavar or p.name), _said(p)) for p in params if not _is_option(p)]
        options = [(_typed(p), _said(p)) for p in params if _is_option(p)]
        for title, rows in (("Arguments", arguments), ("Options", options)):
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)


class HelpfulGroup(TyperGroup):
    """All commands, each with its whole first sentence."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """One row a command."""
        rows = [(name, self.commands[name].get_short_help_str(limit=200)) for name in self.list_commands(ctx)]
        with formatter.section("Commands, in the order of a day's work"):
            formatter.write_dl(rows)


def _is_option(param: Any) -> bool:
    return bool(param.param_type_name == "option")


def _typed(param: Any) -> str:
    takes = "" if getattr(param, "is_flag", False) else f" {param.metavar or (param.name or '').upper()}"
    return f"{', '.join(param.opts)}{takes if param.name != 'help' else ''}"


def _said(param: Any) -> str:
    """Its help, with the default where there is one to tell, and the variable that stands in for it."""
    text = str(getattr(param, "help", None) or "")
    default, variable = param.default, param.envvar
    if default not in (None, False, "", ()) and getattr(param, "show_default", True):
        text += f" Default: {default}."
    return f"{text} Or the variable {variable}." if variable else text
