"""English sentences for the messages of the room ``intake`` (and of the readings layout): code -> template over the facts.

Each says what was expected, what came, and how to mend it. ``{found}`` names rows as ``4 (p3): "n/a"``: row number, id of
the pull, text of the cell.
"""

from __future__ import annotations

__all__ = ["INTAKE"]

_FILE: dict[str, str] = {
    "file_empty": "The file holds nothing. Expected a table of readings with a heading row.",
    "file_too_large": "The file has {mb} MB; at most {limit_mb} MB are read. Split it, or leave out what is no reading.",
    "not_a_table_file": "This is a {what} file, not a table. Save the readings as XLSX or CSV.",
    "workbook_damaged": "The workbook can't be opened ({problem}). Open it in a spreadsheet and save it again as XLSX.",
    "workbook_repaired": "A part of the workbook is damaged ({problem}); the values were read all the same, number formats and formulas could not be. Save it again as XLSX to be sure.",
    "workbook_too_large": "The workbook unpacks from {packed_mb} MB to {unpacked_mb} MB, more than is read (limit {limit_mb} MB, and a bound on the ratio). Delete empty formatted rows and save it again, or save the sheet as CSV.",
    "workbook_entities": "The part {part} of the workbook begins with a document type (<!DOCTYPE), which no spreadsheet writes and which can be made to do harm. Open it in a spreadsheet and save it again as XLSX.",
    "sheet_too_large": "{name} reaches to {last}: {cells} cells, more than are read (limit {limit_cells}). Delete what lies far away from the table (cells, merged areas, links) and save it again, or save the table as CSV.",
    "cell_too_long": 'The cell holds {length} characters, more than is read (limit {limit}); it begins "{text}". Shorten it, or leave it out.',
    "too_many_columns": "The row has {columns} columns, more than is read (limit {limit}). Save the table alone, without what surrounds it.",
    "workbook_protected": "The workbook is protected by a password and can't be read. Save a copy without the password.",
    "workbook_legacy": "This is a workbook of the old binary format (.xls). Save it as XLSX or CSV.",
    "parquet_damaged": (
        "The Parquet file can't be read ({problem}). Write it again, or save the table as CSV or XLSX."
    ),
    "parquet_protected": "The Parquet file is encrypted and can't be read. Write a copy without encryption.",
    "parquet_too_large": (
        "The Parquet file unpacks to {unpacked_mb} MB and {cells} cells; at most {limit_mb} MB and {limit_cells} cells"
        " are read. Split it, or leave out columns that are not needed."
    ),
    "macros_not_run": "The workbook holds macros; they were not run. Values are those stored in the file.",
    "links_not_followed": "The workbook links to other files; the links were not followed. Values are those stored in the file.",
    "encoding_unknown": 'The layout names the encoding "{encoding}", which is not known. Use for example "utf-8" or "cp1250".',
    "encoding_unreadable": 'The bytes of this line are no text in {encoding}. Save the file as CSV UTF-8, or name its encoding in the layout: encoding = "cp1250".',
    "encoding_assumed": 'The file is not UTF-8 and was read as {encoding}. If letters look wrong, name the encoding in the layout, for example encoding = "cp1250".',
    "double_encoding_mended": "{count} [line was|lines were] encoded twice (such as Â² for ²) and [was|were] read as meant: [row|rows] {found}.",
    "quote_open": 'A quote mark opens here and is not closed where a cell ends ({text}). Close it, double it ("") or delete it; otherwise it would swallow the next lines.',
}
_SHEETS: dict[str, str] = {
    "several_sheets": 'Several sheets hold a table of readings: {sheets}. Say which one in the layout, sheet = "...", or sheet = "all" to read all of them.',
    "sheet_missing": 'The layout asks for the sheet "{wanted}"; the workbook has: {sheets}.',
    "sheets_not_read": "Not read, because no table of readings was found there: {sheets}.",
    "hidden_sheet_not_read": 'Hidden sheets with readings were not read: {sheets}. To read one, write sheet = "..." in the layout.',
    "only_hidden_sheet": 'The only readings stand on a hidden sheet ({sheets}). Show it, or write sheet = "..." in the layout.',
    "struck_out": "{count} [row holds|rows hold] a struck-out cell: [row|rows] {found}. [Its value is|Their values are] shown and not used until somebody decides.",
    "hidden_rows_read": "{count} hidden [row was|rows were] read like the others: [row|rows] {found}. Delete them if they are not meant.",
    "hidden_columns_read": "Hidden columns were read like the others: {headings}.",
}
_TABLE: dict[str, str] = {
    "parted_by_blanks": "The cells of this file seem to be parted by blanks ({cells}), which also stand inside of names. Save it with semicolons or tabs between the cells.",
    "table_on_its_side": 'The headings stand below each other ({cells} is one row), so the table lies on its side. Turn it (copy, paste transposed): one row a pull, with headings such as "zone, id, strength [MPa]" above.',
    "no_heading": 'No row names a column of strength or load. Expected headings such as "zone, id, strength [MPa]"; the widest row holds: {cells}. Add headings, or name the columns in the layout: [columns] strength = "heading as written".',
    "heading_row_missing": "The layout says that the headings stand in this row; the file has {rows} rows.",
    "lines_above_heading": "{count} [line above the headings is no reading|lines above the headings are no readings]: [row|rows] {found}.",
    "layout_column_missing": '{key} = "{wanted}" names no column, or more than one. Headings: {headings}. A column can also be named by its number, "#3".',
    "same_heading_twice": 'The heading "{heading}" stands more than once (columns {columns}) and the columns may differ. Rename one, or name the one to use by its number in the layout: [columns] {key} = one of {numbers}.',
    "several_columns": 'More than one column could be the {field}: {headings} (columns {columns}). Say which in the layout: [columns] {key} = "heading as written".',
    "column_of_valid_pulls": 'This column seems to say which pulls count, and it was not used: [row|rows] {found}. Every pull counts unless a physical cause is written: as [[exclude]] in the specification, or as the reason in a column "exclusion".',
    "columns_not_used": "Columns that were not used: {headings}. If one matters, name it in the layout under [columns].",
    "column_by_unit": 'No heading says {field}; "{heading}" was taken for it because of its unit {unit}. To change that, name the column in the layout under [columns].',
    "cells_without_heading": "{count} [row holds|rows hold] something in a column without heading, which was not used: [row|rows] {found}.",
    "unit_decides_column": 'The unit {unit} says that "{heading}" is a {field}.',
    "too_many_cells": "{count} [row has|rows have] more cells than the {expected} headings of row {heading_row}: [row|rows] {found}. A decimal comma or a comma in a text splits a cell: put the cell in quote marks, or save with semicolons.",
    "second_table": "Another heading row stands here ({headings}): a second table, perhaps with other units. Put each table in a sheet or file of its own, or give both the same headings.",
    "groups_side_by_side": "Columns repeat side by side; each set was read as readings of its own: {names}.",
    "readings_side_by_side": "Readings stand side by side in one row; each was read as a pull of its own, named by its heading: {names}.",
    "blank_in_group": "{count} blank [place among readings side by side was not taken as a pull|places among readings side by side were not taken as pulls]: [row|rows] {found}.",
    "further_tables": "{count} [row holds|rows hold] the headings of one of several tables, by which the rows below were read: [row|rows] {found}.",
    "tables_without_zone": 'The sheet holds {tables} tables and this one names no zone, so their pulls can\'t be told apart. Add a column "zone" to each.',
    "headings_over_rows": "Headings and units stand in {count} rows: {found}.",
    "heading_repeated": "{count} [row repeats|rows repeat] the headings and [was|were] left out: [row|rows] {found}.",
    "unit_row_left_out": "{count} [row holds|rows hold] units only and [was|were] left out: [row|rows] {found}.",
    "rows_left_out_by_layout": "{count} [row was|rows were] left out because the layout says so: [row|rows] {found}.",
    "summary_rows_left_out": "{count} [row sums|rows sum] up others and [was|were] left out: [row|rows] {found}.",
    "summary_differs": "{count} [row states|rows state] a value that does not follow from the readings of the file: [row|rows] {found}. Perhaps a reading is missing or was changed.",
    "zone_rows": "{count} [row holds|rows hold] a name only; it was taken as the zone of the rows below: [row|rows] {found}.",
    "rows_of_remarks": "{count} [row holds|rows hold] a remark and no reading, and [was|were] left out: [row|rows] {found}.",
    "no_readings": "No reading stands below the headings.",
}
_NAMES: dict[str, str] = {
    "zone_perhaps": 'No heading says zone, so all pulls would be one zone {zone}; but "{heading}" may name zones: {values}. Decide in the layout: [columns] zone = "{heading}", or zone = "name of the one zone".',
    "zone_unnamed": 'No column names a zone, so all pulls are one zone {zone}. To change that, write [columns] zone = "heading" in the layout.',
    "zone_by_other_name": 'No heading says zone; the pulls were grouped by "{heading}". To change that, write [columns] zone = "heading" in the layout.',
    "two_zone_columns": 'Pulls are judged in the zones of the column "{zone}"; "{planned}" is taken as the zones that were planned. Name another one in the layout ([columns] zone = "...") if that is wrong.',
    "zone_carried_down": "{count} [row has|rows have] no zone of [its|their] own; the zone was carried down from above: [row|rows] {found}.",
    "zone_missing": "{count} [row has|rows have] no zone, while other rows name the same zone again and again: [row|rows] {found}. Fill in the zone, or write carry_zone_down = true in the layout.",
    "zone_spellings": 'Spellings that may be one zone (rows in brackets): {spellings}. Make them equal, or decide in the layout: [zones] "{first}" = ["{second}"] joins them, "{second}" = ["{second}"] keeps them apart.',
    "zone_blanks_trimmed": "These zones are written with and without blanks at their ends and were read as one zone each: {zones}. Give them different names if they are two.",
    "name_became_date": "{count} [name looks|names look] as if a spreadsheet had turned [it into a date|them into dates]: [row|rows] {found}. Compare with the original record.",
    "id_missing": "{count} [pull has|pulls have] a value but no id, while others have one: [row|rows] {found}.",
    "unlabelled_mean": "{count} [row without an id holds the mean of the other values of its zone|rows without an id hold the mean of the other values of their zone]: [row|rows] {found}. Is it a mean or a reading? Give it an id, or decide in the layout: leave_out_rows = [{listed}] or keep_rows = [{listed}].",
    "form_rows_left_out": "{count} [row belongs|rows belong] to the form and not to the readings ([it numbers|they number] the columns or [draws|draw] a line), and [was|were] left out: [row|rows] {found}. If [it is a pull|they are pulls], write keep_rows = [{listed}] in the layout.",
    "example_row": "{count} [row calls itself|rows call themselves] an example: [row|rows] {found}. Is it a reading? Decide in the layout: leave_out_rows = [{listed}] or keep_rows = [{listed}].",
    "label_or_id": "{count} [row bears a name|rows bear names] without a number below readings whose ids have numbers: [row|rows] {found}. Is it a reading, or a mean, a limit or a remark? Decide in the layout: leave_out_rows = [{listed}] or keep_rows = [{listed}].",
    "zone_or_mean": "{count} [row bears a zone name of its own and holds|rows bear zone names of their own and hold] the mean of the readings above: [row|rows] {found}. Is it a reading or a mean? Decide in the layout: leave_out_rows = [{listed}] or keep_rows = [{listed}].",
    "lone_value": "{count} [row without an id holds a value|rows without an id hold a value] beside a name that no other row has: [row|rows] {found}. Is it a reading of a zone of its own, or a limit or a remark? Give it an id, or decide in the layout: leave_out_rows = [{listed}] or keep_rows = [{listed}].",
    "duplicate_id": "{count} pulls share their id with another pull of the same zone: [row|rows] {found} (zone in quote marks).",
}
_NUMBERS: dict[str, str] = {
    "not_a_number": "{count} [cell|cells] can't be read as a number: [row|rows] {found}. Write one number with its unit, or leave the cell blank.",
    "two_numbers": "{count} [cell holds|cells hold] more than one number: [row|rows] {found}. Write one value.",
    "ambiguous_number": '{count} [number|numbers] can be read in two ways: [row|rows] {found}. {text} is {as_decimal} if the mark "{mark}" is a decimal mark and {as_thousands} if it parts thousands, and no other cell of the column decides. Decide in the layout: decimal = "{mark}" or decimal = "{other}".',
    "error_cell": "{count} [cell holds|cells hold] a spreadsheet error: [row|rows] {found}. Mend the formula, or leave the cell blank.",
    "formula_without_value": "{count} [cell holds|cells hold] a formula without a stored value: [row|rows] {found}. Open the workbook in a spreadsheet, let it compute, and save it.",
    "value_is_date": "{count} [cell holds|cells hold] a date where a number was expected: [row|rows] {found}. A spreadsheet may have changed the number; enter it again.",
    "merged_value": "The merged cells {cells} hold one value ({text}) for several rows. Write the value of each pull into its own row.",
    "number_stored_as_text": "{count} [cell holds|cells hold] text that was read as numbers: [row|rows] {found}.",
    "two_decimal_marks": "Decimal point and decimal comma both occur in this column; {count} [cell|cells] with a comma: [row|rows] {found}.",
    "footnote_mark": "{count} [number carries|numbers carry] a footnote mark; the number was read without it: [row|rows] {found}.",
    "unit_missing": '{count} [number of "{heading}" has|numbers of "{heading}" have] no unit, neither in the heading{remark} nor in the cell: [row|rows] {found}. Write the unit into the heading, for example "{name} [{example}]", or into the layout: [units] {field} = "{example}".',
    "unit_changes": "{count} [row of units changes|rows of units change] the unit of the column (it was: {unit}): [row|rows] {found}. Put the readings of each unit into a table or file of its own, or write the unit into each cell.",
    "unit_unknown": '{count} [unit is|units are] not known: [row|rows] {found}. Use for example "{example}".',
    "unit_unknown_layout": '{key} = "{unit}" is no known unit here; known: {known}.',
    "implausible_unit": 'In the unit {unit} this column would mean about {middle} MPa (here {text} = {mpa} MPa); pull-off strengths on concrete are usually 0.05 to 6 MPa. Correct the unit in the heading or in the layout, [units] {field} = "...", or write plausible = false if the values are right.',
}
_VALUES: dict[str, str] = {
    "value_missing": "{count} [row|rows] without a value: [row|rows] {found}. {measured} of {total} rows hold a measured value.",
    "word_for_value": "{count} [row holds|rows hold] words in place of a value and [has|have] none: [row|rows] {found}. {measured} of {total} rows hold a measured value.",
    "glue_without_value": "{count} [pull|pulls] failed at the dolly adhesive and [has|have] no value: [row|rows] {found}. {measured} of {total} rows hold a measured value.",
    "glue_word_as_failure": "{count} [pull was|pulls were] recorded as 100 % Y (dolly adhesive), because the value's cell says so: [row|rows] {found}.",
    "lost_without_value": "{count} [pull was|pulls were] lost before loading and [has|have] no value: [row|rows] {found}. {measured} of {total} rows hold a measured value.",
    "lost_before_loading": "{count} [pull was|pulls were] lost before loading: [row|rows] {found}.",
    "lower_bounds": "{count} [value is|values are] [a lower bound|lower bounds] (at least): [row|rows] {found}. A plain mean of them is not defined.",
    "upper_bounds": "{count} [value is|values are] [an upper bound|upper bounds] (at most): [row|rows] {found}. A plain mean of them is not defined.",
    "proof_loads_held": "{count} [pull is a proof load that held and was|pulls are proof loads that held and were] not pulled to failure: [row|rows] {found}. [It counts|They count] as [a lower bound|lower bounds] (at least), not as [a strength|strengths].",
    "proof_loads_let_go": "{count} [pull|pulls] let go below the proof stress: [row|rows] {found}. The strength lies below it (an upper bound); write the stress at which [it|they] let go if it is known.",
    "proof_unclear": '{count} [cell does|cells do] not say plainly whether a proof load held: [row|rows] {found}. Write "held at 1.50 MPa" or "not held at 1.50 MPa", or the stress at failure alone; or decide for all of them in the layout: proof_held = true (they held) or false (they are stresses at failure).',
    "proof_without_result": 'This column holds proof loads, and nothing says whether [the pull|the {count} pulls] held: [row|rows] {found}. Add a column "held" with yes or no, name it in the layout ([columns] held = "..."), or write proof_held = true (they held) or false (they are stresses at failure).',
    "proof_load_disagrees": "{count} [strength does|strengths do] not agree with what is said of the proof load (held, and the strength below it; or not held, and the strength not below it): [row|rows] {found}. [It is|They are] shown and not used until somebody decides.",
    "bound_unclear": '{count} [sign is|signs are] not known: [row|rows] {found}. Use ">", "<" or leave the cell blank.',
    "approximate_value": "{count} [value is|values are] given as approximate: [row|rows] {found}. [It is|They are] shown and not used until somebody decides.",
    "strength_from_load": "{count} [strength was|strengths were] computed from load and size, because the cell is blank: [row|rows] {found} (load in quote marks).",
    "load_strength_disagree": "{count} [strength does|strengths do] not agree with load over area: [row|rows] {found}. [It is|They are] shown and not used until somebody decides; where both agree, the entered strength is used.",
    "columns_disagree": "{count} [row gives|rows give] the {field} in two units that do not agree within rounding: [row|rows] {found}. [It is|They are] shown and not used until somebody decides.",
    "columns_agree": "The {field} is given in several units ({headings}); the first was used, the others agree with it except where said.",
    "negative_strength": "{count} [value is|values are] below zero: [row|rows] {found}. [It is|They are] shown and not used until somebody decides.",
    "zero_strength": "{count} [value is|values are] zero: [row|rows] {found}. Zero may be a measured value or stand for none; [it is|they are] shown and not used until somebody decides.",
    "sentinel_value": '{count} [value looks|values look] like a mark for "no value": [row|rows] {found}. [It is|They are] shown and not used until somebody decides.',
    "implausible_strength": "{count} [value lies|values lie] far outside the others (middle value {middle} MPa): [row|rows] {found}. [It is|They are] shown and not used until somebody decides; write plausible = false in the layout if [it is|they are] right.",
    "unusual_strength": "{count} [value lies|values lie] outside the usual 0.05 to 6 MPa of pull-off tests on concrete (common practice) and [was|were] used: [row|rows] {found}.",
}
_SIZES: dict[str, str] = {
    "size_square": "{count} [size was|sizes were] taken as [the side of a square|sides of squares], because the heading says so: [row|rows] {found}.",
    "size_taken_as_mm": "{count} [size without a unit was|sizes without a unit were] taken as millimetres: [row|rows] {found}.",
    "size_without_unit": '{count} [size has|sizes have] no unit and can\'t be millimetres of a dolly: [row|rows] {found}. Write the unit, for example 50 mm or 2 in, or state it in the layout, under [units]: {field} = "in".',
    "size_unreadable": "{count} [size|sizes] can't be read: [row|rows] {found}. Expected for example 50 mm, 2 in or 50 x 50 mm.",
    "size_missing": '{count} [load|loads] without a tested diameter or area: [row|rows] {found}. Add a column "diameter [mm]", or write diameter = "50 mm" in the layout.',
    "size_from_above": 'The tested size {size} comes from a line above the headings ("{text}") and was used for all loads without a size of their own.',
    "tested_size_used": 'The size in "{tested}" was used for the tested area; this column is recorded as the size of the dolly.',
    "area_and_size_disagree": "{count} [area differs|areas differ] by more than 2 % from the size given beside [it|them]; the area was used: [row|rows] {found}.",
}
_FAILURE: dict[str, str] = {
    "failure_sum": "{count} [composition does|compositions do] not sum to 100 % and [was|were] not accepted: [row|rows] {found}. The failure counts as not recorded.",
    "failure_twice": "{count} [failure is|failures are] given in a text and in columns of letters that do not agree, and [was|were] not accepted: [row|rows] {found}.",
    "failure_sum_rounded": "{count} [composition sums|compositions sum] to 99 to 101 %, taken as rounding: [row|rows] {found}.",
    "failure_scaled": "{count} [composition was|compositions were] written as tenths, fractions or shares of one and [was|were] read as percent: [row|rows] {found}.",
    "failure_not_tens": "{count} [composition has|compositions have] shares that are no multiples of 10 % (nearest 10 % is common practice): [row|rows] {found}.",
    "failure_unclear": '{count} [failure|failures] can\'t be read and [was|were] not accepted: [row|rows] {found}. The failure counts as not recorded. Write for example 80% A, 20% A/B, or explain a word in the layout: [failure_words] "word" = "A/B".',
    "failure_no_shares": "{count} [failure names|failures name] several codes but not how much of each, and [was|were] not accepted: [row|rows] {found}.",
    "failure_letters_unknown": 'Some letters here are none of EN 1542 and ISO 4624 (A substrate, B first layer, Y dolly adhesive, ...), so the others may mean other things too: [row|rows] {found}. Say in the layout what each letter means: [failure_words] "letter" = "A/B", or failure_letters = "EN 1542" for the letters that are known.',
    "failure_scheme": '{count} [failure uses|failures use] the letters of another scheme (mode a to d of ASTM C1583): [row|rows] {found}. The same letters mean other things in EN 1542. Decide in the layout: failure_letters = "C1583" or failure_letters = "EN 1542".',
    "failure_legend": 'The file explains its letter {letter} as "{meaning}"; here {letter} means {standard}. Decide in the layout: failure_letters = "EN 1542" if the letters are meant so, or [failure_words] "{letter}" = "{code}".',
    "failure_words": "Words were taken as layer letters: {taken}. To change one, write it under [failure_words] in the layout.",
}
_DATES: dict[str, str] = {
    "date_ambiguous": '{count} [date was|dates were] not used, because day and month can\'t be told apart: [row|rows] {found}. The first would be {day_first} with the day first and {month_first} with the month first{year_first}. Decide in the layout: date_order = "DMY" or "MDY".',
    "date_unreadable": "{count} [date|dates] can't be read and [was|were] not used: [row|rows] {found}. Write 2024-04-25.",
    "date_serial": 'Day numbers instead of dates, not used: rows {found}. Write the dates, or decide in the layout: date_order = "serial" (from 1900) or "serial 1904".',
    "yes_or_no_unclear": "{count} [cell says|cells say] neither yes nor no: [row|rows] {found}. [It counts|They count] as not given.",
}
_INSTRUMENTS: dict[str, str] = {
    "instrument_unknown": '{count} [pull names|pulls name] an instrument that the layout does not state (it states: {known}): [row|rows] {found}. Correct the name, or add its certificate to the layout: [instruments."name"] unit = "kN", table = [[indicated, true], ...].',
    "instrument_missing": '{count} [pull names|pulls name] no instrument, while the layout states certificates (of {known}): [row|rows] {found}. Add a column "instrument", or write instrument = "{first}" in the layout if it made them.',
    "instrument_needs_load": 'Instrument "{instrument}" shows loads ({unit}), and the file gives no loads for {count} [pull|pulls]: [row|rows] {found}. Add the loads as indicated, or give the certificate in a unit of stress with reads_for, the dolly for which it shows it.',
    "instrument_not_applied": '{count} [pull has|pulls have] no {what} as shown by instrument "{instrument}", to which its certificate could be applied: [row|rows] {found}. [It is|They are] shown and not used until somebody decides.',
    "instrument_corrected": '{count} [reading|readings] of instrument "{instrument}" [was|were] corrected by certificate {certificate} ({rule}): [row|rows] {found}. Largest change: {before} MPa as indicated, {after} MPa corrected.',
    "outside_certified_range": '{count} [reading|readings] of instrument "{instrument}" [lies|lie] outside the certified range ({certified}) and [was|were] not corrected: [row|rows] {found}. [It is|They are] shown as indicated and not used until somebody decides.',
    "at_capacity": '{count} [reading reaches|readings reach] the capacity ({capacity}) of instrument "{instrument}": the pull held at least that much, [row|rows] {found}. [It counts as a lower bound|They count as lower bounds].',
    "strength_already_corrected": "{count} [strength agrees|strengths agree] with the load corrected by certificate and not with the load as indicated; [it was|they were] taken as corrected already: [row|rows] {found}.",
    "instrument_size_scaled": '{count} [stress|stresses] shown by instrument "{instrument}" for a dolly of {reads_for} [was|were] converted to the tested area: [row|rows] {found}.',
    "instrument_size_not_used": '{count} [stress|stresses] of instrument "{instrument}" [has|have] a tested area in the file ({areas}), and the layout does not say for which dolly it shows stresses; nothing was converted: [row|rows] {found}. If it is set for one dolly, write reads_for = "50 mm" with its size.',
    "calibration_past_due": '{count} [pull was|pulls were] made after the calibration of instrument "{instrument}" was due ({day}): [row|rows] {found}.',
    "calibration_after_test": '{count} [pull was|pulls were] made before the calibration of instrument "{instrument}" ({day}): [row|rows] {found}. The certificate in force on the day may say otherwise.',
    "calibration_not_checked": '{count} [pull|pulls] made with instrument "{instrument}" [has|have] no sure date, so that its calibration (due {day}) could not be checked: [row|rows] {found}.',
    "certificate_differs": '{count} [row names|rows name] another certificate for instrument "{instrument}" than the layout ({certificate}), which was used: [row|rows] {found}.',
}
_LAYOUT: dict[str, str] = {
    "layout_not_toml": "This is not a readable TOML file: {problem}.",
    "layout_unknown_key": "{key}: no such key; known: {known}.",
    "layout_unknown_key_near": '{key}: no such key; did you mean "{near}"?',
    "layout_over_specification": "This layout was used before the table [readings] of {specification}; both give, and not alike: {keys}.",
    "layout_wrong_value": "{key}: expected {expected}, found {came}.",
}

INTAKE: dict[str, str] = {
    **_FILE, **_SHEETS, **_TABLE, **_NAMES, **_NUMBERS, **_VALUES, **_SIZES, **_FAILURE, **_DATES, **_INSTRUMENTS, **_LAYOUT,
}  # fmt: skip
