"""What is wrong with a photo or a signature, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "photo_empty": Explanation(
        later("the photo has no content"),
        later("a JPEG, PNG or WebP file is needed"),
        later("take it again, or choose another file"),
    ),
    "photo_unreadable": Explanation(
        later("the file cannot be read as a photo"),
        later("a JPEG, PNG or WebP file is needed"),
        later("take it again, or save it as JPEG and choose that file"),
    ),
    "photo_too_large": Explanation(
        later("the photo has {met_mb} MB"),
        later("at most {limit_mb} MB are taken"),
        later("choose a smaller picture size in the camera, or save it smaller"),
    ),
    "photo_too_many_pixels": Explanation(
        later("the photo has too many pixels"),
        later("at most {limit_millions} million are taken"),
        later("choose a smaller picture size in the camera, or save it smaller"),
    ),
    "photo_about_unknown": Explanation(
        later("the photo is said to show {met}"),
        later("a zone of the machine or an item of the visual check is needed"),
        later("choose it from the list, or leave it empty"),
    ),
    "too_many_photos": Explanation(
        later("this job has {met} photos"),
        later("at most {limit} are kept"),
        later("take out those that show nothing"),
    ),
    "too_many_photos_at_once": Explanation(
        later("{met} photos were chosen"),
        later("at most {limit} are sent at once"),
        later("send them in several goes"),
    ),
    "no_photo_chosen": Explanation(
        later("no photo was chosen"),
        later("one at least is needed"),
        later("take one, or choose a file"),
    ),
    "no_such_photo": Explanation(
        later("this job has no such photo, or it was erased"),
        later("a photo that is on record is needed"),
        later("choose it from the job's photos"),
    ),
    "photo_not_standing": Explanation(
        later("this photo was taken out"),
        later("a photo that stands among the job's photos is needed"),
        later("choose another one, or send it again"),
    ),
    "photo_erased": Explanation(
        later("this photo was erased already"),
        later("a photo that is on record is needed"),
        later("choose it from the job's photos"),
    ),
    "not_signed": Explanation(
        later("the field for the signature is empty"),
        later("a signature is needed"),
        later("sign in the field, or press the button that says that the printed card was signed"),
    ),
    "reads_otherwise": Explanation(
        later("the order, the notice or what is left here was changed while it was being read"),
        later("a signature under what stands there now is needed"),
        later("read it again, and sign anew"),
    ),
    "nothing_to_sign": Explanation(
        later("nothing is ticked that the customer signs for"),
        later("the order, the notice on personal data, or both are needed"),
        later("tick what was read"),
    ),
    "signature_too_short": Explanation(
        later("the field for the signature holds hardly more than a dot"),
        later("a signature is needed"),
        later("clear the field and sign again"),
    ),
    "signature_unreadable": Explanation(
        later("the signature did not arrive whole"),
        later("the strokes as the field drew them are needed"),
        later("sign again, or have the printed card signed"),
    ),
    "signed_twice": Explanation(
        later("there is a signature in the field, and the printed card is ticked too"),
        later("one of the two is needed"),
        later("clear the field, or take the tick away"),
    ),
}
