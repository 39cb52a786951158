"""A table of many columns carries what a phone needs: the name over each value."""

from __future__ import annotations

from buildlog.render.marks import mark_owner_text
from buildlog.render.stacked import stack_tables

HEAD = '<thead><tr><th scope="col">Part</th>{}</tr></thead>'.format(
    "".join(f'<th scope="col">{name}</th>' for name in ("Number", "Spec", "Since", '<b>Age</b> &amp; "use"'))
)


def test_each_value_has_the_name_that_stands_over_it() -> None:
    """Names come from the head, as text; what says nothing is marked and needs none."""
    row = '<tr><th scope="row">Pump</th><td>7-B</td><td class="n">–</td><td></td><td class="n">5 weeks</td></tr>'
    assert stack_tables(f"<p>x</p><table>{HEAD}<tbody>{row}</tbody></table>").endswith(
        '<tbody><tr><th scope="row">Pump</th>'
        '<td data-name="Number">7-B</td><td class="blank n">–</td>'
        '<td class="blank"></td>'
        '<td class="n" data-name="Age &amp; &quot;use&quot;">5 weeks</td></tr></tbody></table>'
    )


def test_what_spans_columns_has_no_name_and_shifts_those_behind_it() -> None:
    """Behind a cell of three columns stands the fourth; a row that is one sentence is nobody's value."""
    rows = '<tr><td colspan="3">x</td><td>y</td><td>z</td></tr><tr class="gap"><td colspan="5">A gap</td></tr>'
    made = stack_tables(f'<table class="history">{HEAD}<tbody>{rows}</tbody></table>')
    assert '<td colspan="3">x</td><td data-name="Since">y</td>' in made
    assert '<tr class="gap"><td colspan="5">A gap</td></tr>' in made
    assert made.startswith('<table class="stacked history"><thead><tr>')


def test_a_table_in_a_story_is_stacked_as_ours_are() -> None:
    """A mark of the owner's language does not get into a name."""
    head = "".join(f"<th>{mark_owner_text(name)}</th>" for name in "ABCDE")
    made = stack_tables(f"<table><thead><tr>{head}</tr></thead><tbody><tr>{'<td>1</td>' * 5}</tr></tbody></table>")
    assert '<td data-name="A">1</td><td data-name="B">1</td>' in made


def test_other_tables_stay_as_they_are() -> None:
    """Four columns stand beside each other on a phone; without a head there are no names."""
    four = f"<table><thead><tr>{'<th>A</th>' * 4}</tr></thead><tbody><tr>{'<td>1</td>' * 4}</tr></tbody></table>"
    headless = f"<table><tbody><tr>{'<td>1</td>' * 6}</tr></tbody></table>"
    for page in (four, headless, "<p>no table</p>"):
        assert stack_tables(page) == page


def test_figures_alone_are_set_evenly() -> None:
    """Two figures share a line of a phone where nothing else stands in the table."""
    rows = "".join("<tr>" + 5 * '<td class="outside n">1</td>' + "</tr>" for _ in range(2))
    assert '<table class="stacked even">' in stack_tables(f"<table>{HEAD}<tbody>{rows}</tbody></table>")
    mixed = rows.replace('<td class="outside n">', '<td class="note">', 1)
    assert '<table class="stacked">' in stack_tables(f"<table>{HEAD}<tbody>{mixed}</tbody></table>")
