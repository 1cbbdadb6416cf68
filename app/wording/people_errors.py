"""What is wrong with signing in, roles and passwords, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "not_signed_in": Explanation(
        later("nobody is signed in"),
        later("a person or a token of this shop is needed"),
        later("sign in, or send a bearer token"),
    ),
    "not_allowed": Explanation(
        later("this is not among what your roles include"),
        later("one of these roles is needed: {roles}"),
        later("ask somebody who holds it, or the owner"),
    ),
    "password_must_change": Explanation(
        later("you are signed in with a one-time password"),
        later("a password of your own is needed first"),
        later("change it now"),
    ),
    "wrong_password": Explanation(
        later("the password is not right"),
        later("your own password is needed again at this step"),
        later("type it again"),
    ),
    "sign_in_failed": Explanation(
        later("name and password do not belong together"),
        later("the name and password of a person of this shop are needed"),
        later("type both again, or ask the owner for a new one-time password"),
    ),
    "too_many_tries": Explanation(
        later("there were too many tries"),
        later("{retry_after_s} seconds must pass first"),
        later("wait, then try again"),
    ),
    "token_not_valid": Explanation(
        later("this token is unknown or was revoked"),
        later("a token in force is needed"),
        later("make a new one with: jigbook token create"),
    ),
    "password_too_short": Explanation(
        later("the password has {met} characters"),
        later("at least {needed} are needed"),
        later("choose a longer one; a few unrelated words do well"),
    ),
    "password_too_long": Explanation(
        later("the password has {met} characters"),
        later("at most {needed} are taken"),
        later("choose a shorter one"),
    ),
    "password_common": Explanation(
        later("this password is one of those tried first"),
        later("one that nobody else uses is needed"),
        later("choose a few unrelated words"),
    ),
    "password_same": Explanation(
        later("the new password is the old one"),
        later("another one is needed"),
        later("choose a new one"),
    ),
    "passwords_differ": Explanation(
        later("the two entries of the new password differ"),
        later("the same one twice is needed"),
        later("type both again"),
    ),
    "no_role": Explanation(
        later("no role was chosen"),
        later("at least one is needed"),
        later("choose what the person does in the shop"),
    ),
    "last_owner": Explanation(
        later("this person is the last owner"),
        later("at least one owner is needed"),
        later("make somebody else an owner first"),
    ),
    "sign_in_name_taken": Explanation(
        later("somebody has this sign-in name already"),
        later("each name once is needed"),
        later("choose another"),
    ),
    "no_shop_yet": Explanation(
        later("there is no shop in this data folder yet"),
        later("its first start makes it"),
        later("run jigbook serve once, or check --data"),
    ),
    "required": Explanation(
        later("{where} is empty"),
        later("it is needed"),
        later("fill it in"),
    ),
    "too_long": Explanation(
        later("{where} is longer than it may be"),
        later("at most {limit} characters are taken"),
        later("shorten it"),
    ),
    "pin_does_not_reach": Explanation(
        later("a PIN opens the floor only"),
        later("your password is needed for this"),
        later("sign in with your password"),
    ),
    "tablet_not_enrolled": Explanation(
        later("this tablet is not enrolled, or no longer"),
        later("a PIN opens only tablets that the owner has enrolled"),
        later("sign in with your password, or ask the owner to enrol the tablet"),
    ),
    "enrolment_code_wrong": Explanation(
        later("this code is not known, was used already or is over"),
        later("a code that the owner made within the last {minutes} minutes is needed"),
        later("type it again, or ask the owner for a new one"),
    ),
    "wrong_pin": Explanation(
        later("the PIN is not right"),
        later("the PIN of this person is needed"),
        later("type it again; after {limit} wrong ones in a row only the password opens"),
    ),
    "pin_not_digits": Explanation(
        later("the PIN has signs other than digits, or is {met} long"),
        later("{shortest} to {longest} digits are needed"),
        later("choose digits alone"),
    ),
    "pin_common": Explanation(
        later("this PIN is one of those tried first"),
        later("one that is no row, no year, no repeat and no pattern of the keys is needed"),
        later("choose other digits"),
    ),
    "pins_differ": Explanation(
        later("the two entries of the PIN differ"),
        later("the same one twice is needed"),
        later("type both again"),
    ),
    "no_such_tablet": Explanation(
        later("there is no such tablet"),
        later("one of the list is needed"),
        later("go back to the list of tablets"),
    ),
    "tablet_revoked": Explanation(
        later("this tablet was revoked"),
        later("a code is made only for a tablet that stands"),
        later("enrol it as a new one"),
    ),
    "token_missing": Explanation(
        later("no token came with the request"),
        later("a bearer token of this shop is needed"),
        later("send the header Authorization: Bearer and the token"),
    ),
}
