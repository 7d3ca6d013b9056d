"""What is wrong, or hardly meant, in a rulebook: every finding with its place and its reason.

lint_rulebook("rules/our-event.toml")    # a tuple of problems, empty for a book that is clean

Told are all problems that keep a book from being read; limits that no car, or no car from the kit, can keep
together; rules that can never fail; clauses that say the same; limits printed for the wrong side; changes
that change nothing; divisions that nothing depends on; and reasons to accept a doubt where there is none. A
warning that its own clause accepts, with a reason, is no finding. Each division is looked at by itself.
"""

from bodyshop.rules.rulebook.lint.checks import LintResult, lint_rulebook, look_over

__all__ = ["LintResult", "lint_rulebook", "look_over"]
