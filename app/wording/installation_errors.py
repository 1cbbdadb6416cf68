"""What is wrong with the installation, the command line or the connection, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "unexpected": Explanation(
        later("the program met something it was not built for"),
        later("what happened was noted in its log"),
        later("try again; if it comes back, tell the makers of Jigbook the time"),
    ),
    "database_busy": Explanation(
        later("the records were busy for too long"),
        later("they must be free for a moment"),
        later("try again"),
    ),
    "database_unusable": Explanation(
        later("the records in {path} cannot be opened ({reason})"),
        later("a database of Jigbook is needed"),
        later("check --data, or bring it back from a backup"),
    ),
    "data_dir_unusable": Explanation(
        later("the data folder {path} cannot be used ({reason})"),
        later("a folder of the shop's own is needed"),
        later("check its permissions, or choose another with --data"),
    ),
    "installation_incomplete": Explanation(
        later("{path} is not part of this installation"),
        later("it is needed"),
        later("install Jigbook again"),
    ),
    "not_a_demonstration_folder": Explanation(
        later("the folder {path} holds something else than a demonstration ({met})"),
        later("an empty folder or one that jigbook demo has made is needed"),
        later("choose another with --data, or leave --data out"),
    ),
    "demonstration_in_use": Explanation(
        later("another jigbook demo serves from {path}"),
        later("nobody must use the invented shop while it is made anew"),
        later("stop the other one first, or choose another folder with --data"),
    ),
    "not_an_address": Explanation(
        later("the address is {met}"),
        later("an address such as https://shop.example is needed"),
        later("correct it"),
    ),
    "port_out_of_range": Explanation(
        later("the port is {met}"),
        later("1 to 65535 is needed (0 lets the system choose)"),
        later("correct it"),
    ),
    "tls_pair_incomplete": Explanation(
        later("only one of certificate and key was given"),
        later("both are needed for https"),
        later("give --tls-cert and --tls-key together"),
    ),
    "only_in_checkout": Explanation(
        later("this is the installed package, not the source checkout"),
        later("the checkout is needed for {command}"),
        later("run it there"),
    ),
    "test_packages_missing": Explanation(
        later("the packages for the tests are not installed"),
        later("they are needed"),
        later("run python3 -m app test in the checkout"),
    ),
    "system_packages_missing": Explanation(
        later("system packages are missing"),
        later("they are needed"),
        later("{advice}"),
    ),
    "bad_command_line": Explanation(
        later("the command line cannot be understood ({words})"),
        later("what {command} --help shows is needed"),
        later("correct it"),
    ),
    "address_not_available": Explanation(
        later("port {port} of {host} cannot be listened on ({reason})"),
        later("a free port of this machine is needed"),
        later("stop what uses it, or choose another with --port"),
    ),
    "plain_http_beyond_this_machine": Explanation(
        later("{met} is reached from other machines, and no TLS certificate was given"),
        later("without one, passwords cross the network readable to everybody on it"),
        later("give --tls-cert and --tls-key, or accept it with --allow-plain-http-lan"),
    ),
    "tls_files_unusable": Explanation(
        later("the TLS certificate {path} or its key cannot be used ({reason})"),
        later("a certificate and its key without a password, both in PEM, are needed"),
        later("check the two files"),
    ),
    "no_such_page": Explanation(
        later("there is no such page"),
        later("an address of this program is needed"),
        later("go back to the list"),
    ),
    "body_too_large": Explanation(
        later("more was sent than is taken here"),
        later("at most {limit} bytes are taken"),
        later("send less at once"),
    ),
    "body_too_slow": Explanation(
        later("what was sent did not arrive whole"),
        later("it must arrive within {limit_s} seconds"),
        later("send it again, over a faster connection if you can"),
    ),
    "too_busy": Explanation(
        later("as much is being taken in as can be at once"),
        later("something of it must be finished first"),
        later("try again in {retry_after_s} seconds"),
    ),
    "not_a_proxy": Explanation(
        later("JIGBOOK_PROXY holds {met}"),
        later("addresses or networks are needed, such as 127.0.0.1 or 192.0.2.0/24"),
        later("correct it, with commas between several"),
    ),
    "form_from_elsewhere": Explanation(
        later("this form came from another site"),
        later("a form of this program is needed"),
        later("open the page here again and repeat the entry"),
    ),
    "form_token_wrong": Explanation(
        later("this form is too old, or not yours"),
        later("a form of the present session is needed"),
        later("load the page again and repeat the entry"),
    ),
    "form_not_readable": Explanation(
        later("the form cannot be read ({why})"),
        later("a form of this program is needed"),
        later("load the page again and repeat the entry"),
    ),
    "host_not_served": Explanation(
        later("this server is not reached under that name"),
        later("one of its own names is needed"),
        later("use the address that it prints, or start it with --allowed-host"),
    ),
    "method_not_allowed": Explanation(
        later("this address does not take that method"),
        later("another method is needed"),
        later("look it up in the description of the interface"),
    ),
    "worker_too_slow": Explanation(
        later("the work took longer than {limit_s} seconds"),
        later("it should take a few"),
        later("try again; if it comes back, look at the machine's load"),
    ),
    "worker_failed": Explanation(
        later("the program that does this work ended early ({task})"),
        later("it must finish"),
        later("try again; if it comes back, tell the makers of Jigbook"),
    ),
    "wrong_media_type": Explanation(
        later("the body is declared as {met}"),
        later("{needed} is needed"),
        later("send the header Content-Type that fits the body"),
    ),
    "no_such_format": Explanation(
        later("there is no such file format"),
        later("one of these is needed: {known}"),
        later("correct the name"),
    ),
}
