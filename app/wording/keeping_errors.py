"""What is wrong with sessions, tokens, the database file and its backups, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

ENTRANCE: Table = {
    "one_time_password_over": Explanation(
        later("this one-time password has ended"),
        later("one from the last 24 hours is needed"),
        later("ask the owner for a new one"),
    ),
    "not_a_person": Explanation(
        later("this was asked for by a token or a command"),
        later("a person who signs in is needed"),
        later("sign in on the pages and do it there"),
    ),
    "no_session": Explanation(
        later("nobody is signed in here"),
        later("a person of this shop is needed"),
        later("sign in"),
    ),
    "session_over": Explanation(
        later("you were signed in for too long, or did nothing for too long"),
        later("a new start is needed"),
        later("sign in again; what was saved is kept"),
    ),
    "token_unknown": Explanation(
        later("this token is not one of this shop's"),
        later("a token in force is needed"),
        later("compare it, or make a new one with: jigbook token create"),
    ),
    "token_over": Explanation(
        later("this token was revoked or has ended"),
        later("a token in force is needed"),
        later("make a new one with: jigbook token create"),
    ),
    "token_name_taken": Explanation(
        later("there is or was a token of this name"),
        later("each name once is needed"),
        later("choose another name"),
    ),
    "not_one_line": Explanation(
        later("{where} holds a line break or another sign that cannot be shown"),
        later("one line of text is needed"),
        later("type it again in one line"),
    ),
    "idempotency_key_unusable": Explanation(
        later("the Idempotency-Key has {met} characters, or signs that cannot be printed"),
        later("1 to {limit} letters, digits and marks are needed"),
        later("send a random one, 32 signs for example"),
    ),
    "idempotency_under_way": Explanation(
        later("the first request with this Idempotency-Key is still being worked on"),
        later("its answer is needed first"),
        later("send it again in a minute"),
    ),
}

KEEPING: Table = {
    "disk_full": Explanation(
        later("the disk that holds the records is full"),
        later("free space is needed; nothing was saved"),
        later("make room and repeat the entry"),
    ),
    "database_not_migrated": Explanation(
        later("the database is older than this program, or empty"),
        later("the structure of this version is needed"),
        later("run jigbook migrate"),
    ),
    "database_newer": Explanation(
        later("the database has the structure {found}, which this program does not know"),
        later("a program at least as new as the database is needed"),
        later("install the newer version, or bring back a backup from before"),
    ),
    "migration_breaks_links": Explanation(
        later("after the change {rows} rows of {tables} would have pointed to nothing"),
        later("whole links are needed; the database was left as it was"),
        later("keep using the old version and tell the makers of Jigbook"),
    ),
    "snapshot_damaged": Explanation(
        later("the database {path} is damaged ({found})"),
        later("a sound one is needed"),
        later("keep the file, and bring back the newest backup"),
    ),
    "no_database": Explanation(
        later("there is no database at {path}"),
        later("a data folder in use is needed"),
        later("check --data"),
    ),
    "backup_needs_sqlite": Explanation(
        later("the records lie on a database server"),
        later("its own tools are needed to copy them"),
        later("back up the server's database and the data folder, both"),
    ),
    "file_exists": Explanation(
        later("there is a file {path} already"),
        later("a new name is needed"),
        later("choose another, or name a folder"),
    ),
    "cannot_write": Explanation(
        later("{path} cannot be written ({reason})"),
        later("a place with room and permission is needed"),
        later("choose another"),
    ),
    "not_a_tar_name": Explanation(
        later("a backup is a tar archive, and {met} names another kind of file"),
        later("a name that ends in .tar is needed, or a folder"),
        later("give it such a name"),
    ),
    "no_backup": Explanation(
        later("there is no file {path}"),
        later("a backup is needed"),
        later("check its name"),
    ),
    "not_a_backup": Explanation(
        later("{path} is not a whole backup of Jigbook"),
        later("a file that jigbook backup has written is needed"),
        later("take another backup"),
    ),
    "backup_damaged": Explanation(
        later("{name} in the backup {path} is not as it was written"),
        later("an unaltered backup is needed; nothing was changed"),
        later("take another backup"),
    ),
    "data_dir_in_use": Explanation(
        later("the folder {path} holds a shop's records already"),
        later("an empty folder is needed, or your word that they are to be replaced"),
        later("choose another with --data, or say --overwrite"),
    ),
    "database_in_use": Explanation(
        later("another program has the database {path} open"),
        later("it must be free"),
        later("stop the server, then try again"),
    ),
}

TABLE: Table = {**ENTRANCE, **KEEPING}
