"""The twenty-four common faults of a sheet, and the tests of their safe treatment.

Safe means: the cell stays as it was typed, what is odd is told with a proposal, and no coin is
corrected or dropped in silence. Faults of form show while reading, faults of value after the
fit; where both have a say, a test of each is named.
"""

from __future__ import annotations

from importlib import import_module

import pytest

FORM, VALUE, BLOCKS = "test_intake_faults", "test_slips_after_fit", "test_evidence_blocks"
SLIP = f"{VALUE}.test_a_slip_is_to_be_measured_again_with_its_proposal"
BLOCK = f"{BLOCKS}.test_a_block_is_found_with_its_fault_and_nothing_else_is"
KEPT = f"{FORM}.test_1_2_15_slips_that_read_like_numbers_are_kept_as_typed"

FAULTS = {
    (1, "decimal slip"): (KEPT, SLIP, BLOCK),
    (2, "swapped digits"): (
        KEPT, SLIP, f"{VALUE}.test_a_swap_that_is_only_possible_parks_no_coin_of_brass",
    ),
    (3, "swapped columns"): (f"{FORM}.test_3_swapped_columns_are_kept_as_typed", SLIP, BLOCK),
    (4, "units mixed"): (f"{FORM}.test_4_a_unit_in_a_cell_is_used_and_doubted", SLIP, BLOCK),
    (5, "decimal commas, mixed"): (
        f"{FORM}.test_5_decimal_signs_are_counted_both_ways",
        f"{FORM}.test_5_decimal_commas_between_commas_are_refused",
    ),
    (6, "date with mint mark"): (f"{FORM}.test_6_year_and_mint_mark_are_parted",),
    (7, "date mistyped or turned into a serial number"): (
        f"{FORM}.test_7_an_impossible_date_is_a_coin_without_date_and_a_proposal",
        f"{FORM}.test_7_a_year_in_which_the_type_was_not_struck_is_doubted_with_proposals",
        "test_intake_mess.test_a_date_that_became_a_day_is_doubted",
    ),
    (8, "ditto"): (f"{FORM}.test_8_dittos_are_filled_with_a_note",),
    (9, "words for nothing"): (
        f"{FORM}.test_9_words_for_nothing_are_missing_and_kept",
        f"{FORM}.test_9_a_number_for_nothing_is_missing_kept_and_doubted",
    ),
    (10, "rows twice, a block pasted"): (f"{FORM}.test_10_16_blocks_are_named_and_kept",),
    (11, "half-filled rows"): (f"{FORM}.test_11_half_filled_rows_are_items",),
    (12, "sections, subtotals"): (f"{FORM}.test_12_sections_become_types_and_totals_are_checked",),
    (13, "a value that stands still"): (f"{FORM}.test_13_a_value_that_stands_still_is_named",),
    (14, "drift"): (
        f"{FORM}.test_14_check_weights_keep_their_place_in_the_order",
        "test_repeats.test_weighings_around_a_failed_check_are_suspended_and_a_drift_is_proposed",
    ),
    (15, "two coins on the pan"): (KEPT, SLIP),
    (16, "not tared"): (f"{FORM}.test_10_16_blocks_are_named_and_kept", BLOCK),
    (17, "rounding that changes"): (f"{FORM}.test_17_rounding_is_estimated_by_stretch",),
    (18, "units inside cells"): (
        f"{FORM}.test_18_20_units_marks_fractions_and_hard_spaces", f"{FORM}.test_18_gr_is_asked",
    ),
    (19, "letter for digit"): (f"{FORM}.test_19_a_letter_for_a_digit_is_proposed_and_not_used",),
    (20, "encodings, hard spaces, fractions"): (
        f"{FORM}.test_18_20_units_marks_fractions_and_hard_spaces",
        "test_intake_mess.test_encodings_and_hard_spaces",
    ),
    (21, "hidden rows, filters, formulas and errors"): (
        "test_intake_form.test_what_a_workbook_hides_is_said",
    ),
    (22, "numbers missing or twice"): (f"{FORM}.test_22_numbers_missing_and_twice_are_listed",),
    (23, "two sheets, other columns"): (
        f"{FORM}.test_23_two_sheets_with_other_columns_are_read_each_with_its_own",
        f"{FORM}.test_23_rows_of_one_coin_on_two_sheets_become_one_item_when_said",
    ),
    (24, "count stated and rows differ"): (f"{FORM}.test_24_a_stated_count_that_differs_is_said",),
}  # fmt: skip


def test_every_fault_stands_in_the_table_once() -> None:
    assert [number for number, _ in FAULTS] == list(range(1, 25))


@pytest.mark.parametrize("test", sorted({name for names in FAULTS.values() for name in names}))
def test_the_test_named_for_a_fault_is_there(test: str) -> None:
    module, _, function = test.partition(".")
    assert callable(getattr(import_module(module), function))
