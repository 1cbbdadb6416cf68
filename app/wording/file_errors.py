"""What is wrong with a file as a whole, or with a row of it, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

FILES: Table = {
    "bad_input": Explanation(
        later("what was sent cannot be taken"),
        later("every field must be as described"),
        later("correct what is listed and send it again"),
    ),
    "not_a_survey": Explanation(
        later("this is no survey ({where} is {met})"),
        later('JSON with "format": "jigbook.survey/1" and points, or CSV, is needed'),
        later("check that the right file was chosen"),
    ),
    "not_a_reference": Explanation(
        later("this is no reference ({where} is {met})"),
        later('JSON with "format": "jigbook.reference/1" and characteristics is needed'),
        later("check that the right file was chosen"),
    ),
    "not_json": Explanation(
        later("this is not JSON from line {line}, column {column} on"),
        later("JSON is needed"),
        later("correct it there, or save it again from the program that made it"),
    ),
    "not_utf8": Explanation(
        later("byte {byte} is no UTF-8 text"),
        later("a text file in UTF-8 is needed"),
        later("save it as UTF-8, and check that the right file was chosen"),
    ),
    "file_empty": Explanation(
        later("there is nothing in it"),
        later("points are needed"),
        later("check that the right file was chosen"),
    ),
    "file_too_big": Explanation(
        later("this is {met} bytes long"),
        later("at most {limit} bytes are taken"),
        later("send one survey alone, and check that the right file was chosen"),
    ),
    "key_twice": Explanation(
        later("the key {met} stands twice in the same object"),
        later("each key once is needed"),
        later("take one of the two out"),
    ),
    "more_problems": Explanation(
        later("there are {met} further problems"),
        later("none is needed"),
        later("correct those listed first"),
    ),
}

CSV: Table = {
    "no_rows": Explanation(
        later("there is a header but no row below it"),
        later("one row for each point is needed"),
        later("add the rows"),
    ),
    "too_many_rows": Explanation(
        later("there are {met} rows"),
        later("at most {limit} are taken"),
        later("send one survey alone"),
    ),
    "unknown_column": Explanation(
        later("the header has a column {met}"),
        later("only these columns are known: {allowed}"),
        later("rename or remove the column"),
    ),
    "column_missing": Explanation(
        later("the header lacks {missing}"),
        later("feature,label,station,x,y,z,u is needed"),
        later("add the missing columns; cells of label, station and u may stay empty"),
    ),
    "column_twice": Explanation(
        later("the header has the column {met} twice"),
        later("each column once is needed"),
        later("remove one of the two"),
    ),
    "row_length": Explanation(
        later("{where} has {met} cells"),
        later("{needed} are needed, as in the header"),
        later("complete the row; numbers with a decimal comma need semicolons between the cells"),
    ),
    "csv_quotes": Explanation(
        later("{where} has quotation marks that do not close, or a cell that is too long"),
        later("plain cells are needed"),
        later("remove the quotation marks"),
    ),
    "mixed_decimal_marks": Explanation(
        later("{where} has a decimal point while other rows have decimal commas"),
        later("one decimal mark in the whole file is needed, else 1.234 could be a thousand"),
        later("save the file again with one kind of decimal mark"),
    ),
    "not_a_number": Explanation(
        later("{where} is {met}"),
        later("a number such as 412.5 or 412,5 is needed, without thousands marks"),
        later("correct it"),
    ),
}

COMMAND_LINE: Table = {
    "file_missing": Explanation(
        later("there is no file {path}"),
        later("a file is needed"),
        later("check its name and folder"),
    ),
    "file_is_folder": Explanation(
        later("{path} is a folder"),
        later("a file is needed"),
        later("name the file in it"),
    ),
    "file_unreadable": Explanation(
        later("{path} cannot be read ({reason})"),
        later("a readable file is needed"),
        later("check its permissions"),
    ),
    "standard_input_twice": Explanation(
        later("- stands for more than one file"),
        later("standard input can be read once"),
        later("name the other files"),
    ),
    "option_for_csv_only": Explanation(
        later("{met} was given beside a survey in JSON"),
        later("a survey in JSON says that itself"),
        later("leave the option out, or correct the survey"),
    ),
    "options_apart": Explanation(
        later("{met} were given together"),
        later("one of them at a time is possible"),
        later("run the command once for each"),
    ),
    "threshold_out_of_range": Explanation(
        later("the threshold is {met}"),
        later("a probability from {lowest} to {highest} is needed"),
        later("correct it; 0.95 is taken when it is left out"),
    ),
    "whole_number_out_of_range": Explanation(
        later("{where} is {met}"),
        later("a whole number from {lowest} to {highest} is needed"),
        later("correct it, or leave it out"),
    ),
}

TABLE: Table = {**FILES, **CSV, **COMMAND_LINE}
