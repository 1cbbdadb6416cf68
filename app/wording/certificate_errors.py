"""Why a certificate cannot be issued, opened or signed, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "sent_back_unanswered": Explanation(
        later("the job was sent back, and nothing was measured or answered since"),
        later("a new measurement or an answer is needed"),
        later("measure again, or answer on the job's page"),
    ),
    "certificate_refused": Explanation(
        later("the certificate cannot be issued"),
        later("nothing may stand against it"),
        later("settle what is listed"),
    ),
    "set_up_moved": Explanation(
        later("the set-up moved during the measurement"),
        later("a steady one is needed"),
        later("measure again, and the datum again last"),
    ),
    "orientation_not_checked": Explanation(
        later("left, right and upward were not checked against the survey's axes"),
        later("that check is needed"),
        later("measure again with `up` in the survey"),
    ),
    "points_of_another_job": Explanation(
        later("measurement {survey} has the very points of measurement {other} of job {job}"),
        later("points that were measured on this machine are needed for a certificate"),
        later("measure this machine; if job {job} got them by mistake, replace them there"),
    ),
    "instrument_out_of_calibration": Explanation(
        later("the instrument was out of calibration on the day of the measurement"),
        later("one in calibration is needed"),
        later("measure with another instrument, or record its calibration"),
    ),
    "required_missing": Explanation(
        later("not measured: {missing}"),
        later("every required characteristic is needed"),
        later("measure again, with what it needs"),
    ),
    "no_reference_revision": Explanation(
        later("no reference was fixed for the job"),
        later("a revision of a reference is needed"),
        later("choose the reference"),
    ),
    "signer_may_not_sign": Explanation(
        later("you do not hold the inspector's role"),
        later("an inspector is needed to sign"),
        later("ask an inspector of the shop"),
    ),
    "no_survey": Explanation(
        later("the job has no measurement"),
        later("one is needed"),
        later("measure first"),
    ),
    "finding_not_within": Explanation(
        later("the finding is {finding}"),
        later("within is needed for a completion"),
        later("issue a report instead, or correct and measure again"),
    ),
    "hold_open": Explanation(
        later("a hold is open: {item}"),
        later("no open hold is allowed for a completion"),
        later("an inspector closes it when it is settled"),
    ),
    "datum_not_measured_again": Explanation(
        later("pivot and faces were not measured again at the end"),
        later("pivot left and right and one face with station return are needed for a completion"),
        later("measure again, and these last"),
    ),
    "certificate_already_there": Explanation(
        later("certificate {number} of this measurement and kind is there already ({status})"),
        later("one of each kind is enough"),
        later("look at it, or issue this one in its place with the reason"),
    ),
    "certificate_has_no_file": Explanation(
        later("certificate {number} has no file ({status})"),
        later("one that was issued is needed"),
        later("look at the register"),
    ),
    "message_too_large": Explanation(
        later("the zip of certificate {number} has {met_mb} MB"),
        later("up to {limit_mb} MB go into a mail that most services take"),
        later("send a link instead, keep some photos in the shop, or hand the zip over otherwise"),
    ),
    "link_for_nobody": Explanation(
        later("nobody is named for whom this link is"),
        later("a name is needed by which the links are told apart later"),
        later("write for whom it is, such as the insurer"),
    ),
    "claim_link_unknown": Explanation(
        later("this link leads nowhere"),
        later("the whole link as it was sent is needed"),
        later("ask the shop for a new one"),
    ),
    "claim_link_expired": Explanation(
        later("this link ended on {expired_at}"),
        later("one that is still open is needed"),
        later("ask the shop for a new one"),
    ),
    "claim_link_revoked": Explanation(
        later("this link was withdrawn on {revoked_at}"),
        later("one that is still open is needed"),
        later("ask the shop"),
    ),
    "pdf_needs_pango": Explanation(
        later("the library Pango is not installed"),
        later("it is needed to lay out the PDF"),
        later(
            "install it (Debian: libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0), try again"
        ),
    ),
    "render_refused": Explanation(
        later("the PDF could not be laid out ({reason})"),
        later("every part of it must be the program's own"),
        later("tell the makers of Jigbook"),
    ),
    "signing_failed": Explanation(
        later("the PDF could not be signed ({reason})"),
        later("a signature that can be checked is needed"),
        later("look at the shop's signing key and try again"),
    ),
    "signature_field_missing": Explanation(
        later("the PDF has no place for the signature"),
        later("one is needed"),
        later("tell the makers of Jigbook"),
    ),
    "signing_key_unreadable": Explanation(
        later("the signing key in {path} cannot be read"),
        later("a readable key is needed"),
        later("bring it back from a backup, or check the folder's permissions"),
    ),
    "signing_key_unusable": Explanation(
        later("the signing key is of another kind"),
        later("an RSA or EC key with its certificate is needed"),
        later("bring it back from a backup, or set another key"),
    ),
    "signing_key_distrusted": Explanation(
        later("the signing key was marked as not to be trusted any more"),
        later("a key that is trusted is needed"),
        later("the owner renews the key on the page of the signing key"),
    ),
    "no_such_signer": Explanation(
        later("the shop has used no such signing key ({met})"),
        later("one of the list is needed"),
        later("choose it from the list"),
    ),
    "signing_password_needed": Explanation(
        later("the signing key has a password of its own"),
        later("that password is needed to sign"),
        later("type the password of the signing key"),
    ),
    "signing_password_wrong": Explanation(
        later("the password of the signing key is not right"),
        later("the one that the owner set is needed"),
        later("type it again"),
    ),
    "signing_certificate_not_valid_now": Explanation(
        later("the signing certificate holds from {valid_from} to {valid_until}"),
        later("one that holds today is needed"),
        later("check the clock, or make a new signing certificate"),
    ),
    "signing_certificate_of_other_authority": Explanation(
        later("the signing certificate comes from another authority"),
        later("one of this shop's authority is needed"),
        later("bring key and authority back from the same backup"),
    ),
    "signing_certificate_unsuitable": Explanation(
        later("the signing certificate is not meant for documents ({what})"),
        later("one that may sign documents is needed, under authorities that may issue it"),
        later("ask its issuer for one for document signing with content commitment"),
    ),
    "signing_authority_missing": Explanation(
        later("the key file holds no certificate of the authority that issued the signer's"),
        later("the whole chain up to that authority is needed"),
        later("export key and certificate again with the full chain"),
    ),
    "no_authority_key": Explanation(
        later("the signing key comes from elsewhere: its authority's key is not here"),
        later("a new certificate from its issuer is needed, or an authority of the shop's own"),
        later("load the new key file, or make a new authority"),
    ),
    "time_stamp_unreachable": Explanation(
        later("the time-stamp service {address} gave no time stamp ({reason})"),
        later("the shop signs only with a time stamp"),
        later("try again later, or let the shop sign without one when none is to be had"),
    ),
    "time_stamp_address": Explanation(
        later("{met} is no address of a time-stamp service"),
        later("one that begins with https:// or http:// is needed"),
        later("take it from the service's own papers"),
    ),
    "time_stamp_authority_missing": Explanation(
        later("no file with the authority of the time-stamp service was sent"),
        later("its certificate is needed, which the stamps are checked against"),
        later("choose the file, in PEM form, beside the address"),
    ),
    "time_stamp_authority": Explanation(
        later("the file of the service's authority holds no certificate that is signed by itself"),
        later("that of the authority on top of the time-stamp service is needed"),
        later("take it from the service's own papers, in PEM form"),
    ),
    "signing_key_not_of_certificate": Explanation(
        later("signing key and signing certificate do not belong together"),
        later("a pair is needed"),
        later("bring both back from the same backup"),
    ),
    "signing_folder_unusable": Explanation(
        later("the folder {path} for the signing key cannot be used ({reason})"),
        later("a folder of the shop's own is needed"),
        later("check its permissions"),
    ),
    "signer_may_not_sign:measured": Explanation(
        later("you measured this machine yourself"),
        later("this shop asks for a second person to sign"),
        later("ask another inspector of the shop"),
    ),
    "measured_meanwhile": Explanation(
        later("a new measurement was submitted while the certificate was being made"),
        later("the certificate must speak of the last one"),
        later("look at the new finding, then issue again"),
    ),
    "certificate_no_longer_issuing": Explanation(
        later("certificate {number} was given up, or taken over by another program, meanwhile"),
        later("one program at a time must issue"),
        later("look at the certificate's page"),
    ),
    "certificate_not_waiting": Explanation(
        later("certificate {number} waits for nobody"),
        later("one that could not be finished by itself is needed"),
        later("look at the certificate's page"),
    ),
    "certificate_not_issuing": Explanation(
        later("certificate {number} is not being issued any more"),
        later("one that is not finished yet is needed"),
        later("look at the certificate's page; one in force can be withdrawn"),
    ),
    "certificate_not_made": Explanation(
        later("certificate {number} could not be made: {why}"),
        later("a certificate that can be finished is needed"),
        later("look at its progress"),
    ),
    "signing_key_changed": Explanation(
        later("the shop signs with another key since this certificate was signed for"),
        later("the key that the certificate names is needed"),
        later("give it up and sign for a new one"),
    ),
    "checks_busy": Explanation(
        later("as many files are being checked as can be at once"),
        later("one of them must be finished first"),
        later("try again in {retry_after_s} seconds"),
    ),
    "worker_too_slow": Explanation(
        later("the PDF was not ready after {limit_s} seconds"),
        later("a machine with time to spare is needed"),
        later("try again when it is less busy"),
    ),
    "not_a_certificate": Explanation(
        later("{where} is no certificate in PEM form"),
        later("the shop authority's certificate is needed"),
        later("give the file that the shop handed out, beginning with BEGIN CERTIFICATE"),
    ),
    "no_authority": Explanation(
        later("there is no authority certificate in {path}"),
        later("the shop's authority is needed"),
        later("give it with --authority, or check --data"),
    ),
    "characters_not_printable": Explanation(
        later("{where} holds characters that the certificate's font lacks: {characters}"),
        later("characters that can be printed are needed"),
        later("write it in other characters"),
    ),
    "document_refused": Explanation(
        later("the PDF could not be laid out ({reason})"),
        later("every part of it must be the program's own"),
        later("tell the makers of Jigbook"),
    ),
    "corrected_since_measured": Explanation(
        later("the machine was corrected after it was measured"),
        later("a measurement after the last correction is needed"),
        later("measure again"),
    ),
    "certificate_not_valid": Explanation(
        later("certificate {number} is not in force ({status})"),
        later("one in force is needed"),
        later("look at the register"),
    ),
    "no_certificate_yet": Explanation(
        later("this shop has not issued a certificate yet"),
        later("one of its own is needed to check against"),
        later("check which shop issued the file"),
    ),
    "measured_before_received": Explanation(
        later("measurement {number} says it was taken on {measured}, before the machine came"),
        later("a moment after it was received ({received}) is expected"),
        later("if that is wrong, measure again with the right moment"),
    ),
    "measured_in_future": Explanation(
        later("measurement {number} says it was taken on {measured}, which is still to come"),
        later("a moment that has passed is expected"),
        later("check the clocks; if it is wrong, measure again with the right moment"),
    ),
    "visual_check_incomplete": Explanation(
        later("not checked by eye: {count} of {of} items"),
        later("every item looked at says more"),
        later("look at them first, or sign with them printed as not checked"),
    ),
    "visual_check_before_correction": Explanation(
        later("looked at before the correction, and not again since: {count} of {of} items"),
        later("a check after the correction says what is there now"),
        later("look again, with a note at each item, or sign with it printed as not repeated"),
    ),
    "visual_check_contradicts_check_in": Explanation(
        later("noted damaged at check-in, and nothing of it seen in the visual check: {zones}"),
        later("both cannot be right as long as nothing was corrected between"),
        later("look again, or sign with the contradiction printed"),
    ),
    "straightened_though_forbidden": Explanation(
        later(
            "the frame was worked on by force or heat, and its reference says that the maker "
            "forbids that"
        ),
        later("the maker's instruction goes first"),
        later("look at the corrections; the certificate tells both"),
    ),
}
