//! The generated parser, and what its rules are called when speaking to a person.

#[derive(pest_derive::Parser)]
#[grammar = "../grammar/rulebook.pest"]
pub(super) struct Letters;

/// What a rule is called in a message; `None` for rules too fine or too coarse to help.
pub(super) fn rule_name(rule: Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::name | Rule::word | Rule::path_head => "a name",
        Rule::member_name => "a name",
        Rule::text => "a quoted text",
        Rule::label => "a label such as `(A)`",
        Rule::address | Rule::address_head => "a section number such as 250.118(5)",
        Rule::finding => "the code of a finding, such as `F0102`",
        Rule::mark | Rule::seen | Rule::memory | Rule::disputed | Rule::intended => {
            "a mark: `seen \"…\"`, `memory` or `disputed \"…\"`"
        }
        Rule::number => "a number",
        Rule::unit => "a unit",
        Rule::date => "a date such as 2026-09-01",
        Rule::measure | Rule::quantity => "a quantity such as 7 1/2 ft",
        Rule::value | Rule::value_range | Rule::values | Rule::none => "a value",
        Rule::expr | Rule::factor | Rule::group | Rule::path | Rule::noun => "a field or an expression",
        Rule::binary | Rule::add | Rule::sub | Rule::mul | Rule::div => "an operator with spaces around it",
        Rule::clauses | Rule::clause | Rule::negation | Rule::comparison => "a condition",
        Rule::items => "`{` and a list, one condition a line",
        Rule::item => "a condition",
        Rule::predicate | Rule::is | Rule::is_not | Rule::compare | Rule::bound => {
            "`is …`, `at least …`, `at most …` or another comparison"
        }
        Rule::list => "a list",
        Rule::where_part => "`where …`",
        Rule::where_described => "`where described`",
        Rule::consequence => "`: …`",
        Rule::quantified | Rule::quantifier => "`every`, `some`, `no` or `at least N of`",
        Rule::body => "`{`",
        Rule::block => "`{`",
        Rule::half | Rule::half_kind | Rule::half_where => "a half such as `(A) path A of kind …`",
        Rule::exception_head => "`Ex. 1`",
        Rule::case => "`when …`",
        Rule::alternative => "`then … is enough`",
        Rule::instead => "`instead requires …`",
        Rule::enough_labels | Rule::enough_term | Rule::enough_clauses => "what is enough, such as `(A) is enough`",
        Rule::field_type | Rule::plain_type => "a type",
        Rule::modifier => "a modifier such as `may be absent`",
        Rule::table_key => "a key such as `rating: current`",
        Rule::row_mode => "`next row up` or `next row down`",
        Rule::cell => "a cell",
        Rule::cell_key | Rule::up_to | Rule::over => "a row key such as `up to 150 V`",
        Rule::option | Rule::enough_block => "a reading: a name, a quoted text and `{ … }`",
        Rule::fact_value | Rule::fact_values | Rule::fact_range | Rule::fact_term => "a value",
        Rule::entry => "a field and its value",
        Rule::scale_step => "a step such as `12 AWG`",
        Rule::choice_value | Rule::choice_values => "a value",
        Rule::EOI => "the end of the text",
        Rule::triggers => "`where any of { … }`",
        Rule::per => "`, per` and a section number",
        Rule::about => "`about` and a subject",
        Rule::naming => "`as name:`",
        Rule::key => "a key",
        Rule::edition_year => "a year",
        Rule::rounding => "`rounded up` or `rounded down`",
        Rule::fact_bound | Rule::bounds => "a bound such as `at least 15 A`",
        Rule::keyed_fact | Rule::keyed_facts | Rule::keyed_through => "a measurement such as `2 ft from edge`",
        Rule::worded | Rule::named | Rule::worded_fact | Rule::text_body => return None,
        Rule::beyond
        | Rule::per_part
        | Rule::round_up
        | Rule::round_down
        | Rule::marks
        | Rule::passed
        | Rule::intention
        | Rule::reserved_mark => {
            return None;
        }
        Rule::fold | Rule::count_of | Rule::sum_of | Rule::largest | Rule::smallest | Rule::lookup => return None,
        Rule::any_of | Rule::all_of | Rule::none_of | Rule::implied | Rule::every | Rule::some | Rule::no => {
            return None;
        }
        Rule::bound_of | Rule::bound_count | Rule::at_least | Rule::at_most | Rule::exactly | Rule::more_than => {
            return None;
        }
        Rule::fewer_than | Rule::dated | Rule::before | Rule::after | Rule::until | Rule::clock => return None,
        Rule::passes | Rule::passes_not | Rule::rulebook | Rule::terms | Rule::edition | Rule::choice => return None,
        Rule::choice_group | Rule::scale | Rule::thing | Rule::field | Rule::inverse | Rule::many | Rule::by_name => {
            return None;
        }
        Rule::keyed_type | Rule::may_be_absent | Rule::never_negative | Rule::at_least_members => return None,
        Rule::judgment | Rule::external | Rule::section | Rule::mark_line | Rule::paragraph | Rule::governs => {
            return None;
        }
        Rule::when | Rule::requires | Rule::different | Rule::prohibits | Rule::permits_as | Rule::permits_only => {
            return None;
        }
        Rule::permits | Rule::notes | Rule::if_provided | Rule::unless | Rule::exception | Rule::exception_number => {
            return None;
        }
        Rule::bound_to | Rule::uncounted | Rule::modifies | Rule::waives | Rule::tally | Rule::kind | Rule::define => {
            return None;
        }
        Rule::limit | Rule::table | Rule::row_up | Rule::row_down | Rule::no_other | Rule::header_row => return None,
        Rule::table_row | Rule::not_permitted | Rule::reading | Rule::bad_chunk | Rule::facts | Rule::project => {
            return None;
        }
        Rule::instance | Rule::absent_kind | Rule::maybe_more_of | Rule::maybe_more | Rule::unknown => return None,
        Rule::not_values
        | Rule::lone_value
        | Rule::lone_entries
        | Rule::lone_changes
        | Rule::lone_figure
        | Rule::odd_name => return None,
        Rule::WHITESPACE | Rule::nl | Rule::gap | Rule::word_char | Rule::end | Rule::reserved | Rule::mixed => {
            return None;
        }
        Rule::fraction
        | Rule::decimal
        | Rule::not_unit
        | Rule::enough_word
        | Rule::atom
        | Rule::core
        | Rule::line_end => return None,
        Rule::book_item | Rule::item_end | Rule::statement | Rule::table_rows | Rule::bad_piece => return None,
        Rule::fact_item | Rule::fact_line => return None,
        Rule::change | Rule::edit => "a change such as `in 210.8(A): voltage was 125 V, now 250 V`",
        Rule::change_value => "a value or a bound such as `at most 60 A`",
        Rule::to_base => "`to` and an edition, or `to every base`",
        Rule::changes | Rule::change_head | Rule::edition_follows | Rule::interim | Rule::erratum => return None,
        Rule::amendment | Rule::every_base | Rule::printing | Rule::in_force | Rule::window | Rule::since => {
            return None;
        }
        Rule::until_date | Rule::in_target | Rule::rules_about | Rule::title_was | Rule::enough_was => return None,
        Rule::enough_terms | Rule::add_exception | Rule::add_item | Rule::add_conditions => return None,
        Rule::strike_exception | Rule::strike_item | Rule::strike_condition | Rule::was_now | Rule::in_table => {
            return None;
        }
        Rule::place_line => "a line such as `nec 2020 from 2021-07-01`",
        Rule::policy => "`last wins`, `strictest wins`, `no deviation` or `approval needed`",
        Rule::whole_project => "`for the whole project if declared`",
        Rule::edition_set => "an edition such as `nec 2020 with harbor-2021`",
        Rule::classes => "names of occupancies",
        Rule::jurisdiction | Rule::fixed_by | Rule::over_parent | Rule::last_wins | Rule::strictest_wins => {
            return None;
        }
        Rule::no_deviation
        | Rule::approval_needed
        | Rule::approved
        | Rule::adds
        | Rule::grace
        | Rule::early
        | Rule::stay => {
            return None;
        }
        Rule::adoption | Rule::no_worse | Rule::also_when => return None,
        Rule::before_state | Rule::after_state | Rule::same | Rule::state => return None,
        Rule::read_term => "a word, a quantity or a quoted text",
        Rule::force => "`requires`, `prohibits`, `permits only` or `notes`",
        Rule::only_for => "`for 210.8(B) only`",
        Rule::excluded => "a section number, or a range of them",
        Rule::split_part => "a section number, perhaps with what it takes",
        Rule::number_was | Rule::excerpt | Rule::since_day | Rule::force_was | Rule::force_requires => return None,
        Rule::force_prohibits | Rule::force_only | Rule::force_notes | Rule::read_as | Rule::add_statement => {
            return None;
        }
        Rule::also | Rule::no_longer | Rule::exclude | Rule::r#move | Rule::split | Rule::taking | Rule::merge => {
            return None;
        }
        Rule::becomes | Rule::exception_of | Rule::scope_of | Rule::brought | Rule::use_exceptions => return None,
        Rule::used_exception | Rule::read_everywhere | Rule::settle | Rule::notes_fall | Rule::limit_was => {
            return None;
        }
        Rule::delay | Rule::delete_table | Rule::use_table => return None,
        Rule::section_number => "a section number such as 250.118(5)",
        Rule::amount_line | Rule::each_line => "a line such as `(4) each device: 2 x allowance`",
        Rule::valued | Rule::option_value => "a value",
        Rule::either_of | Rule::larger_of | Rule::smaller_of => "`larger of A and B`",
        Rule::next_of => "`next of series 240.6(A) above X`",
        Rule::above | Rule::below | Rule::at_or_above | Rule::at_or_below => "`above`, `at or above` or `below`",
        Rule::first_row => "`first row of table T where at least X`",
        Rule::row_across => "`across` and a column",
        Rule::provided => "`if …, otherwise …`",
        Rule::gaps => "`gaps intended`",
        Rule::amount | Rule::series | Rule::in_series | Rule::series_edit | Rule::add_value => return None,
        Rule::strike_value | Rule::value_was | Rule::add_line => return None,
        Rule::table_edit | Rule::add_row | Rule::strike_row | Rule::cell_was | Rule::insert => return None,
        Rule::whole_body | Rule::moves | Rule::move_to | Rule::delete | Rule::reserve | Rule::replace => return None,
        Rule::renumber | Rule::use_of | Rule::waive | Rule::release | Rule::addresses | Rule::start => return None,
        Rule::lapse
        | Rule::carry
        | Rule::carried
        | Rule::of_table
        | Rule::of_series
        | Rule::declare
        | Rule::add_after
        | Rule::added
        | Rule::plain_item => return None,
        Rule::edition_span | Rule::span_year => "a year, or years such as 2014 through 2020",
        Rule::said | Rule::answer => "a verdict such as `not met`",
        Rule::target => "a section number or a name",
        Rule::whereabouts | Rule::setting => "a field, such as `size of green`",
        Rule::loose_value => "a value",
        Rule::arm | Rule::varied_arm => "what comes out, such as `2014 met`",
        Rule::grid_head | Rule::grid_title | Rule::grid_row | Rule::grid_cell => "cells between `|`",
        Rule::claim_answer | Rule::claim_arm => "`refuted`, `supported` or `not settled`",
        Rule::claim_says | Rule::claim_demands | Rule::claim_enough | Rule::claim_binds | Rule::claim_spares => {
            "`demands`, `is content with`, `binds where` or `spares where`"
        }
        Rule::beside | Rule::fixture | Rule::example | Rule::claim | Rule::survives | Rule::under => return None,
        Rule::under_with | Rule::example_line | Rule::given | Rule::as_in | Rule::but | Rule::without => return None,
        Rule::of_member | Rule::loose_values | Rule::expect | Rule::expect_plain | Rule::expect_varied => return None,
        Rule::expect_grid | Rule::everything_else | Rule::said_by | Rule::by_exception | Rule::said_as => return None,
        Rule::needs | Rule::unchanged | Rule::cell_end | Rule::claim_line | Rule::claim_only => return None,
        Rule::claim_expect | Rule::survivor | Rule::survivor_place => return None,
    })
}
