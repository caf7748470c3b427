/* A site: what ships, every limit at its value and one past it, and what a bad site says. */
#include <math.h>

#include "bad.h"
#include "scenario/site.h"

/* What a site is read with. */
typedef struct {
    MetalTable *metals;
    Kinds *kinds;
    Site *site; /* the shipped one */
    Text text;
} Shipped;

static int load(void **state)
{
    Err err = {0};
    Text kinds = {0};
    Shipped *shipped = check_calloc(1, sizeof *shipped);
    *state = shipped;
    bad_read_file("assets/kinds.json", &kinds);
    bad_read_file("scenarios/ostrel-mill/site.json", &shipped->text);
    bool ok = metals_load("assets/metals.json", &shipped->metals, &err) &&
              kinds_parse("kinds", kinds.bytes, kinds.len, &shipped->kinds, &err) &&
              site_parse("site", shipped->text.bytes, shipped->text.len, shipped->metals,
                         shipped->kinds, &shipped->site, &err);
    text_clear(&kinds);
    if (!ok) print_error("%s\n", err.text);
    return ok ? 0 : -1;
}

static int unload(void **state)
{
    Shipped *shipped = *state;
    site_free(shipped->site);
    kinds_free(shipped->kinds);
    metals_free(shipped->metals);
    text_clear(&shipped->text);
    free(shipped);
    return 0;
}

static bool parse(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    const Shipped *shipped = context;
    Site *site = NULL;
    bool ok = site_parse(file, bytes, len, shipped->metals, shipped->kinds, &site, err);
    assert_true(ok == (site != NULL));
    site_free(site);
    return ok;
}

/* --- The whole, heads, products, pieces ------------------------------------------------------ */

#define BUTTER "{ \"id\": \"butter-200\", \"kind\": \"moist\""
#define LOAF "{ \"product\": \"loaf-800\""

static const BadRow part_rows[] = {
    {"no JSON", "{\n  \"format\"", "{\n  \"format\" ^4", NULL,
     "not JSON: expected ':' after a key, found 4"},
    {"format missing", "\"format\": \"threepass-site-1\",", "", "{", "format is missing"},
    {"another format", "\"threepass-site-1\"", "^\"threepass-scenario-1\"", NULL,
     "format is \"threepass-scenario-1\", must be one of \"threepass-site-1\""},
    {"unknown key", "\"release_by\"", "^\"released_by\"", NULL,
     "unknown key \"released_by\"; did you mean \"release_by\"?"},
    {"id missing", "\"id\": \"ostrel-mill\",", "", "{", "id is missing"},
    {"id no id", "\"ostrel-mill\"", "^\"Ostrel Mill\"", NULL,
     "id is \"Ostrel Mill\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"},
    {"name missing",
     "\"name\": { \"en\": \"Ostrel Mill, dairy and bakery\", \"pl\": \"Ostrel Mill, mleczarnia i "
     "piekarnia\" },",
     "", "{", "name is missing"},
    {"name a string",
     "{ \"en\": \"Ostrel Mill, dairy and bakery\", \"pl\": \"Ostrel Mill, mleczarnia i piekarnia\" "
     "}",
     "^\"Ostrel Mill\"", NULL,
     "name must be an object of texts by language, such as {\"en\": \"...\"}"},
    {"name empty",
     "{ \"en\": \"Ostrel Mill, dairy and bakery\", \"pl\": \"Ostrel Mill, mleczarnia i piekarnia\" "
     "}",
     "^{}", NULL, "name must be an object of texts by language, such as {\"en\": \"...\"}"},
    {"name in no language", "\"en\": \"Ostrel", "\"e\": ^\"Ostrel", NULL,
     "name: \"e\" is not a language tag (BCP 47), such as \"en\""},
    {"name in a number", "\"en\": \"Ostrel", "\"en1\": ^\"Ostrel", NULL,
     "name: \"en1\" is not a language tag (BCP 47), such as \"en\""},
    {"name is no text", "\"Ostrel Mill, dairy and bakery\"", "^4", NULL,
     "en: is a number, must be a string"},
    {"name of nothing", "\"Ostrel Mill, dairy and bakery\"", "^\"\"", NULL,
     "en is 0 bytes long, limit 1..4000"},
    {"languages missing", "\"languages\": [\"en\", \"pl\"],", "", "{", "languages is missing"},
    {"languages none", "[\"en\", \"pl\"]", "^[]", NULL, "languages has 0 elements, limit 1..16"},
    {"languages wrong", "[\"en\", \"pl\"]", "[^\"english language\"]", NULL,
     "languages must hold language tags (BCP 47), such as \"en\""},
    {"language a number", "[\"en\", \"pl\"]", "[\"en\", ^2]", NULL,
     "languages must hold language tags (BCP 47), such as \"en\""},
    {"people none", "\"people\": [", "\"people\": ^[],\n\"$schema\": [", NULL,
     "people has 0 elements, limit 1..5000"},
    {"person twice", "\"Marit\"", "^\"Ife\"", NULL, "person \"Ife\" is there twice"},
    {"person twice but for the case", "\"Marit\"", "^\"ife \"", NULL,
     "person \"ife \" is there as \"Ife\": other letters' case or blanks make no other person"},
    {"person without a name", "\"Marit\"", "^\"\"", NULL, "name is 0 bytes long, limit 1..200"},
    {"person nameless", "\"name\": \"Renske\", ", "", "{ \"name\": \"Renske\"", "name is missing"},
    {"person on no shift", "\"Marit\", \"shift\": \"early\"", "\"Marit\", \"shift\": ^\"earl\"",
     NULL,
     "shift is \"earl\", must be one of \"early\", \"late\", \"night\", \"day\"; did you mean "
     "\"early\"?"},
    {"person of no role", "\"trainer\"", "^\"train\"", NULL,
     "role is \"train\", must be one of \"line-checker\", \"line-leader\", \"supervisor\", "
     "\"quality\", \"maintenance\", \"warehouse\", \"food-safety-team-leader\", \"trainer\"; did "
     "you mean \"trainer\"?"},
    {"person with a PIN", "\"name\": \"Marit\",", "\"name\": \"Marit\", ^\"pin\": 1,", NULL,
     "unknown key \"pin\""},
    {"person a word", "{ \"name\": \"Marit\", \"shift\": \"early\" }", "^\"Marit\"", NULL,
     "person: is a string, must be an object"},
    {"language twice", "[\"en\", \"pl\"]", "[\"en\", \"pl\", ^\"en\"]", NULL,
     "language \"en\" is there twice"},
    {"release_by nobody", "\"release_by\": \"quality\"", "\"release_by\": ^\"qualty\"", NULL,
     "release_by is \"qualty\", must be one of \"line-checker\", \"line-leader\", \"supervisor\", "
     "\"quality\", \"maintenance\", \"warehouse\", \"food-safety-team-leader\"; did you mean "
     "\"quality\"?"},
    {"head id missing", "\"id\": \"d-small\", ", "", "{ \"id\": \"d-small\"", "id is missing"},
    {"head id twice", "\"id\": \"b-loaf\"", "\"id\": ^\"d-small\"", NULL,
     "id \"d-small\" is there twice"},
    {"head kind unknown", "\"kind\": \"tunnel\"", "\"kind\": ^\"tunel\"", NULL,
     "kind is \"tunel\", must be one of \"tunnel\"; did you mean \"tunnel\"?"},
    {"head a number", "{ \"id\": \"d-small\", \"kind\": \"tunnel\"",
     "^5, { \"id\": \"d-small\", \"kind\": \"tunnel\"", NULL,
     "head: is a number, must be an object"},
    {"head key misspelt", "\"frequency_khz\"", "^\"frequency_hz\"", NULL,
     "unknown key \"frequency_hz\"; did you mean \"frequency_khz\"?"},
    {"never found often enough", "1e-6 }", "0.5, \"found_probability\": ^0.5 }", NULL,
     "found_probability is 0.5, must be above false_reject_rate, 0.5"},
    {"product id twice", "\"id\": \"loaf-800\"", "\"id\": ^\"butter-200\"", NULL,
     "id \"butter-200\" is there twice"},
    {"product id missing", "\"id\": \"butter-200\", ", "", BUTTER, "id is missing"},
    {"product kind unknown", "\"kind\": \"bread\"", "\"kind\": ^\"bred\"", NULL,
     "kind is \"bred\", must be one of \"dry\", \"bread\", \"moist\", \"wet\", \"brined\", "
     "\"frozen\"; did you mean \"bread\"?"},
    {"product name missing",
     "\"name\": { \"en\": \"Salted butter 200 g\", \"pl\": \"Masło solone 200 g\" }, ", "", BUTTER,
     "name is missing"},
    {"columns one", "\"temperature_c\": 4,", "\"columns\": ^[2],", NULL,
     "columns has 1 elements, limit 2..2"},
    {"columns none", "\"temperature_c\": 4,", "\"columns\": [2, ^0],", NULL,
     "columns holds 0, must be a whole number, limit 1..50"},
    {"columns many", "\"temperature_c\": 4,", "\"columns\": [^51, 1],", NULL,
     "columns holds 51, must be a whole number, limit 1..50"},
    {"columns half", "\"temperature_c\": 4,", "\"columns\": [^2.5, 1],", NULL,
     "columns holds 2.5, must be a whole number, limit 1..50"},
    {"columns a word", "\"temperature_c\": 4,", "\"columns\": [1, ^\"2\"],", NULL,
     "columns must hold whole numbers, limit 1..50"},
    {"goes nowhere", "\"piece_goes\": [\"on-top\"]", "\"piece_goes\": ^[]", NULL,
     "piece_goes has 0 elements, limit 1..3"},
    {"goes beside", "\"piece_goes\": [\"on-top\"]", "\"piece_goes\": [\"inside\", ^\"beside\"]",
     NULL, "piece_goes holds \"beside\", must be on-top, inside or underneath"},
    {"goes a number", "\"piece_goes\": [\"on-top\"]", "\"piece_goes\": [^1]", NULL,
     "piece_goes holds no word, must be on-top, inside or underneath"},
    {"sealed, and goes inside", "\"piece_goes\": [\"on-top\"]",
     "\"piece_goes\": [\"inside\"], \"sealed\": ^true", NULL,
     "sealed is true, but piece_goes holds \"inside\""},
    {"sealed", "\"piece_goes\": [\"on-top\"]",
     "\"piece_goes\": [\"on-top\", \"underneath\"], \"sealed\": true", NULL, NULL},
    {"no such fail-safe", "\"lanes\": 1", "\"lanes\": 1, \"fail_safes\": [\"power\", ^\"smoke\"]",
     NULL,
     "fail_safes holds \"smoke\", must be reject-confirmation, bin-full, bin-open, low-air, "
     "photo-eye, encoder or power"},
    {"reset by nobody", "\"lanes\": 1", "\"lanes\": 1, \"alarms_reset_by\": ^\"ghost\"", NULL,
     "alarms_reset_by is \"ghost\", must be one of \"line-checker\", \"line-leader\", "
     "\"supervisor\", \"quality\", \"maintenance\", \"warehouse\", \"food-safety-team-leader\""},
    {"goes twice", "\"piece_goes\": [\"on-top\"]", "\"piece_goes\": [\"on-top\", ^\"on-top\"]",
     NULL, "piece_goes holds \"on-top\" twice"},
    {"goes four ways", "\"piece_goes\": [\"on-top\"]",
     "\"piece_goes\": ^[\"on-top\", \"inside\", \"underneath\", \"on-top\"]", NULL,
     "piece_goes has 4 elements, limit 1..3"},
    {"piece id twice", "\"id\": \"NF-20-05\"", "\"id\": ^\"FE-15-03\"", NULL,
     "id \"FE-15-03\" is there twice"},
    {"piece of no metal", "\"metal\": \"brass\"", "\"metal\": ^\"bras\"", NULL,
     "metal is \"bras\", must be one of \"stainless-304\", \"stainless-316\", \"chrome-steel\", "
     "\"carbon-steel\", \"brass\", \"aluminium\", \"copper\", \"lead\"; did you mean \"brass\"?"},
    {"piece of no form", "\"form\": \"card\"", "\"form\": ^\"ring\"", NULL,
     "form is \"ring\", must be one of \"card\", \"stick\", \"puck\", \"wire\""},
    {"piece with a length", "\"form\": \"card\"", "\"length_mm\": ^5, \"form\": \"card\"", NULL,
     "length_mm belongs to a wire, and this is a card"},
    {"piece in no state", "\"state\": \"cracked\"", "\"state\": ^\"lost\"", NULL,
     "state is \"lost\", must be one of \"sound\", \"cracked\", \"unreadable\""},
    {"certificate missing", "\"certificate\": \"C-1185\", ", "", "{ \"id\": \"FE-15-03\"",
     "certificate is missing"},
    {"certificate empty", "\"C-1185\"", "^\"\"", NULL, "certificate is 0 bytes long, limit 1..64"},
    {"date missing", ", \"good_until\": \"2027-03-31\"", "", "{ \"id\": \"FE-15-03\"",
     "good_until is missing"},
    {"date in February", "\"2027-03-31\"", "^\"2027-02-29\"", NULL,
     "good_until is \"2027-02-29\", must be a day of the calendar such as 2026-03-02"},
    {"date in month 13", "\"2027-03-31\"", "^\"2027-13-01\"", NULL,
     "good_until is \"2027-13-01\", must be a day of the calendar such as 2026-03-02"},
    {"date in another form", "\"2027-03-31\"", "^\"31.03.2027\"", NULL,
     "good_until is \"31.03.2027\", must be a day of the calendar such as 2026-03-02"},
    {"date of 1900", "\"2027-03-31\"", "^\"1900-02-29\"", NULL,
     "good_until is \"1900-02-29\", must be a day of the calendar such as 2026-03-02"},
    {"date of 2000", "\"2027-03-31\"", "\"2000-02-29\"", NULL, NULL},
    {"date of 2028", "\"2027-03-31\"", "\"2028-02-29\"", NULL, NULL},
    {"wire without a length", "\"length_mm\": 12, ", "", "{ \"id\": \"WIRE-12\"",
     "length_mm is missing"},
    {"wire like a ball", "\"length_mm\": 12,", "\"length_mm\": ^0.999,", NULL,
     "length_mm is 0.999, limit 1..1000"},
    {"wire in no state", "\"form\": \"wire\"", "\"form\": \"wire\", \"state\": ^\"lost\"", NULL,
     "state is \"lost\", must be one of \"sound\", \"cracked\", \"unreadable\""},
    {"wire with a bad date", "\"form\": \"wire\"", "\"form\": \"wire\", \"good_until\": ^\"soon\"",
     NULL, "good_until is \"soon\", must be a day of the calendar such as 2026-03-02"},
    {"a key too many", "\"form\": \"wire\"", "\"form\": \"wire\", ^\"colour\": \"red\"", NULL,
     "unknown key \"colour\""},
};

/* --- Lines ----------------------------------------------------------------------------------- */

#define D1 "{ \"id\": \"d1\""
#define REJECT "{ \"kind\": \"air-jet\""
#define START "{ \"passes\""
#define PASSES "{ \"pieces\""

static const BadRow line_rows[] = {
    {"line id twice", "\"id\": \"b1\"", "\"id\": ^\"d1\"", NULL, "id \"d1\" is there twice"},
    {"line name missing", "\"name\": { \"en\": \"D1, butter\", \"pl\": \"D1, masło\" }, ", "", D1,
     "name is missing"},
    {"line key misspelt", "\"belt_mm_s\"", "^\"bet_mm_s\"", NULL,
     "unknown key \"bet_mm_s\"; did you mean \"belt_mm_s\"?"},
    {"head unknown", "\"head\": \"d-small\"", "\"head\": ^\"d-smal\"", NULL,
     "there is no head \"d-smal\" in this site; did you mean \"d-small\"?"},
    {"head far from any", "\"head\": \"d-small\"", "\"head\": ^\"xyz\"", NULL,
     "there is no head \"xyz\" in this site"},
    {"belt under the floor", "\"belt_above_floor_mm\": 15", "\"belt_above_floor_mm\": ^-0.5", NULL,
     "belt_above_floor_mm is -0.5, limit 0..3000"},
    {"belt above any head", "\"belt_above_floor_mm\": 15", "\"belt_above_floor_mm\": ^3000.5", NULL,
     "belt_above_floor_mm is 3000.5, limit 0..3000"},
    {"no lanes", "\"lanes\": 1", "\"lanes\": ^0", NULL, "lanes is 0, limit 1..8"},
    {"nine lanes", "\"lanes\": 1", "\"lanes\": ^9", NULL, "lanes is 9, limit 1..8"},
    {"half a lane", "\"lanes\": 1", "\"lanes\": ^1.5", NULL,
     "lanes: has a point or an exponent, must be a whole number"},
    {"lanes that the signal starts",
     "\"lanes\": 1,\n      \"infeed_mm\": -1200, \"eye_mm\": -250, \"end_mm\": 2200, "
     "\"belt_above_floor_mm\": 15,\n      \"reject\": { \"kind\": \"air-jet\", \"at_mm\": 900, "
     "\"started_by\": \"photo-eye\"",
     "\"lanes\": ^2,\n      \"infeed_mm\": -1200, \"eye_mm\": -250, \"end_mm\": 2200, "
     "\"belt_above_floor_mm\": 15,\n      \"reject\": { \"kind\": \"air-jet\", \"at_mm\": 900, "
     "\"started_by\": \"signal\"",
     NULL,
     "lanes is 2, but the reject is started by the signal, which does not tell the lanes apart: "
     "started_by must be \"photo-eye\""},
    {"infeed behind the eye", "\"infeed_mm\": -1200", "\"infeed_mm\": ^-250", NULL,
     "infeed_mm is -250, must lie before eye_mm, -250"},
    {"end before the reject", "\"end_mm\": 2200", "\"end_mm\": ^900", NULL,
     "end_mm is 900, must lie behind reject.at_mm, 900"},
    {"a crowded belt", "\"packs_per_minute\": 80, \"lanes\": 1,\n      \"infeed_mm\": -1200",
     "\"packs_per_minute\": ^250, \"lanes\": 1,\n      \"infeed_mm\": -15000", NULL,
     "143 packs would be on the belt, limit 125"},
    {"reject missing",
     "\"reject\": { \"kind\": \"air-jet\", \"at_mm\": 900, \"started_by\": "
     "\"photo-eye\", \"timed_by\": \"encoder\", \"stroke_ms\": 120, "
     "\"bin_packs\": 40 },",
     "", D1, "reject is missing"},
    {"reject kind missing", "\"kind\": \"air-jet\", ", "", REJECT, "kind is missing"},
    {"reject kind unknown", "\"air-jet\"", "^\"air-jets\"", NULL,
     "kind is \"air-jets\", must be one of \"air-jet\", \"pusher\", \"flap\"; did you mean "
     "\"air-jet\"?"},
    {"reject key misspelt", "\"timed_by\"", "^\"time_by\"", NULL,
     "unknown key \"time_by\"; did you mean \"timed_by\"?"},
    {"started by nothing", "\"photo-eye\"", "^\"eye\"", NULL,
     "started_by is \"eye\", must be one of \"photo-eye\", \"signal\""},
    {"timed by nothing", "\"encoder\"", "^\"clock\"", NULL,
     "timed_by is \"clock\", must be one of \"timer\", \"encoder\""},
    {"timed_by missing", "\"timed_by\": \"encoder\", ", "", REJECT, "timed_by is missing"},
    {"program a word", LOAF, "^\"loaf\", " LOAF, NULL, "program: is a string, must be an object"},
    {"program unknown key", "{ \"product\": \"butter-200\", \"validated\"",
     "{ \"product\": \"butter-200\", ^\"valdated\"", NULL,
     "unknown key \"valdated\"; did you mean \"validated\"?"},
    {"program without product", "{ \"product\": \"butter-200\", \"validated\"", "^{ \"validated\"",
     NULL, "product is missing"},
    {"program of no product", LOAF, "{ \"product\": ^\"loaf-900\"", NULL,
     "there is no product \"loaf-900\" in this site; did you mean \"loaf-800\"?"},
    {"program twice", "{ \"product\": \"butter-plain-200\", \"validated\"",
     "^{ \"product\": \"butter-200\", \"validated\"", NULL,
     "\"butter-200\" has two programs on this line"},
    {"pack too high", "{ \"product\": \"butter-200\", \"validated\"",
     "^{ \"product\": \"loaf-800\", \"validated\"", NULL,
     "loaf-800 is 110 mm wide and reaches 125 mm above the floor of an aperture of 300 x 100 mm; "
     "belt_above_floor_mm is 15, measured from the bottom of the aperture"},
    {"belt above the floor of the hall", "\"belt_above_floor_mm\": 15",
     "\"belt_above_floor_mm\": ^900", NULL,
     "butter-200 is 70 mm wide and reaches 940 mm above the floor of an aperture of 300 x 100 mm; "
     "belt_above_floor_mm is 900, measured from the bottom of the aperture"},
    {"packs too near", "\"packs_per_minute\": 45", "\"packs_per_minute\": 120", LOAF,
     "loaf-800 is 250 mm long, but the packs come 250 mm apart"},
    {"validated not a list",
     "\"validated\": [ { \"metal\": \"chrome-steel\", \"diameter_mm\": 1.5 }",
     "\"validated\": [ ^4, { \"metal\": \"chrome-steel\", \"diameter_mm\": 1.5 }", NULL,
     "validated: is a number, must be an object"},
    {"validated twice", "{ \"metal\": \"brass\", \"diameter_mm\": 2.0 }, { \"metal\": \"stain",
     "{ \"metal\": \"brass\", \"diameter_mm\": 2.0 }, ^{ \"metal\": \"brass\", \"diameter_mm\": "
     "3.0 }, { \"metal\": \"stain",
     NULL, "brass is validated twice"},
    {"validated of no metal",
     "{ \"metal\": \"brass\", \"diameter_mm\": 2.0 }, { \"metal\": \"stain",
     "{ \"metal\": ^\"tin\", \"diameter_mm\": 2.0 }, { \"metal\": \"stain", NULL,
     "metal is \"tin\", must be one of \"stainless-304\", \"stainless-316\", \"chrome-steel\", "
     "\"carbon-steel\", \"brass\", \"aluminium\", \"copper\", \"lead\""},
    {"validated too small",
     "\"diameter_mm\": 1.5 }, { \"metal\": \"brass\", \"diameter_mm\": 2.0 }",
     "\"diameter_mm\": ^0.009 }, { \"metal\": \"brass\", \"diameter_mm\": 2.0 }", NULL,
     "diameter_mm is 0.009, limit 0.01..100"},
    {"validated without a size",
     ", \"diameter_mm\": 1.5 }, { \"metal\": \"brass\", \"diameter_mm\"",
     " }, { \"metal\": \"brass\", \"diameter_mm\"", "{ \"metal\": \"chrome-steel\"",
     "diameter_mm is missing"},
    {"plan unknown", "\"interval\": { \"minutes\": 60", "^\"intervall\": { \"minutes\": 60", NULL,
     "unknown key \"intervall\"; did you mean \"interval\"?"},
    {"plan a number", "\"interval\": { \"minutes\": 60",
     "\"end\": ^3, \"interval\": { \"minutes\": 60", NULL, "end: is a number, must be an object"},
    {"minutes missing", "{ \"minutes\": 60, ", "^{ ", NULL, "minutes is missing"},
    {"minutes at the start", "\"start\": { ", "\"start\": { \"minutes\": ^60, ", NULL,
     "minutes belongs to the plan \"interval\", and this is \"start\""},
    {"empty_first a word", "\"good_run\": 10", "\"empty_first\": ^\"yes\", \"good_run\": 10", NULL,
     "empty_first: is a string, must be true or false"},
    {"bin opened by nobody", "\"bin_opened_by\": \"line-leader\"", "\"bin_opened_by\": ^\"me\"",
     NULL,
     "bin_opened_by is \"me\", must be one of \"line-checker\", \"line-leader\", \"supervisor\", "
     "\"quality\", \"maintenance\", \"warehouse\", \"food-safety-team-leader\""},
    {"bin_opened_by missing", ", \"bin_opened_by\": \"line-leader\"", "", START,
     "bin_opened_by is missing"},
    {"good_run missing", ", \"good_run\": 10", "", START, "good_run is missing"},
    {"plan key misspelt", "\"good_run\"", "^\"goodrun\"", NULL,
     "unknown key \"goodrun\"; did you mean \"good_run\"?"},
    {"two kinds of passes", "\"passes\": [ {", "\"passes\": ^[ {}, {", NULL,
     "passes has 2 elements, limit 1..1"},
    {"order missing", ", \"order\": \"by-place\"", "", PASSES, "order is missing"},
    {"order unknown", "\"by-place\"", "^\"by-pack\"", NULL,
     "order is \"by-pack\", must be one of \"by-place\", \"by-metal\"; did you mean "
     "\"by-place\"?"},
    {"places missing", "\"places\": [\"leading\", \"middle\", \"trailing\"], ", "", PASSES,
     "places is missing"},
    {"places wrong", "[\"leading\", \"middle\"", "[\"leading\", ^\"centre\"", NULL,
     "places holds \"centre\", must be leading, middle or trailing"},
    {"places twice", "[\"leading\", \"middle\"", "[\"leading\", ^\"leading\"", NULL,
     "places holds \"leading\" twice"},
    {"pieces missing", "\"pieces\": [\"chrome-steel\", \"brass\", \"stainless-316\"], ", "", PASSES,
     "pieces is missing"},
    {"pieces none", "\"pieces\": [\"chrome-steel\", \"brass\", \"stainless-316\"]",
     "\"pieces\": ^[]", NULL, "pieces has 0 elements, limit 1..8"},
    {"pieces a number", "\"pieces\": [\"chrome-steel\"", "\"pieces\": [^4", NULL,
     "pieces must hold names of metals"},
    {"pieces of no metal", "\"pieces\": [\"chrome-steel\"", "\"pieces\": [^\"gold\"", NULL,
     "there is no metal \"gold\""},
    {"pieces twice", "\"pieces\": [\"chrome-steel\", \"brass\"",
     "\"pieces\": [\"chrome-steel\", ^\"chrome-steel\"", NULL,
     "pieces holds \"chrome-steel\" twice"},
    {"pieces not validated", "\"pieces\": [\"chrome-steel\"", "\"pieces\": [\"lead\"", START,
     "the plan asks for lead, but no lead is validated for butter-200"},
};

static void test_site_parse_bad(void **state)
{
    const Shipped *shipped = *state;
    size_t parts = sizeof part_rows / sizeof part_rows[0];
    size_t lines = sizeof line_rows / sizeof line_rows[0];
    assert_true(parts + lines >= BAD_ROWS_MIN);
    bad_check_rows(shipped->text.bytes, part_rows, parts, parse, *state);
    bad_check_rows(shipped->text.bytes, line_rows, lines, parse, *state);
}

/* --- Limits ---------------------------------------------------------------------------------- */

/* The limits are the format's own. Keys that no number limits are in the tables above. */
static const BadKey head_keys[] = {
    {"id", "\"spare\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"kind", "\"tunnel\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"aperture_width_mm", "300", KEY_NUMBER, false, "20", "3000", "19.99", "3000.5"},
    {"aperture_height_mm", "100", KEY_NUMBER, false, "20", "3000", "19.99", "3000.5"},
    {"coil_clearance_mm", "20", KEY_NUMBER, true, "1", "500", "0.99", "500.5"},
    {"receiver_offset_mm", "50", KEY_NUMBER, true, "1", "5000", "0.99", "5000.5"},
    {"frequency_khz", "350", KEY_NUMBER, false, "0.1", "2000", "0.099", "2000.5"},
    {"false_reject_rate", "1e-6", KEY_NUMBER, false, "1e-15", "0.5", "9e-16", "0.51"},
    {"found_probability", "0.99", KEY_NUMBER, true, "0.5", "0.9999999", "0.49", "1"},
};

static const BadKey product_keys[] = {
    {"id", "\"spare\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"kind", "\"dry\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"name", "{ \"en\": \"Rusks\" }", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"length_mm", "250", KEY_NUMBER, false, "1", "5000", "0.99", "5000.5"},
    {"width_mm", "110", KEY_NUMBER, false, "1", "5000", "0.99", "5000.5"},
    {"height_mm", "110", KEY_NUMBER, false, "1", "5000", "0.99", "5000.5"},
    {"temperature_c", "20", KEY_NUMBER, true, "-60", "150", "-60.5", "150.5"},
    {"conductivity_s_per_m", "0.1", KEY_NUMBER, true, "0", "100", "-0.1", "100.5"},
    {"relative_permeability", "1", KEY_NUMBER, true, "1", "1.1", "0.99", "1.11"},
    {"columns", "[2, 3]", KEY_OTHER, true, NULL, NULL, NULL, NULL},
    {"piece_goes", "[\"inside\"]", KEY_OTHER, false, NULL, NULL, NULL, NULL},
};

static const BadKey piece_keys[] = {
    {"id", "\"SS-45-02\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"metal", "\"brass\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"diameter_mm", "4.5", KEY_NUMBER, false, "0.01", "100", "0.009", "100.5"},
    {"form", "\"puck\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"state", "\"sound\"", KEY_OTHER, true, NULL, NULL, NULL, NULL},
    {"certificate", "\"C-1\"", KEY_STRING, false, "1", "64", NULL, NULL},
    {"good_until", "\"2026-03-02\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
};

static const BadKey wire_keys[] = {
    {"id", "\"WIRE-12\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"metal", "\"carbon-steel\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"diameter_mm", "0.5", KEY_NUMBER, false, "0.01", "100", "0.009", "100.5"},
    {"length_mm", "300", KEY_NUMBER, false, "1", "1000", "0.99", "1000.5"},
    {"form", "\"wire\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"certificate", "\"C-1\"", KEY_STRING, true, "1", "64", NULL, NULL},
};

static const BadKey reject_keys[] = {
    {"kind", "\"flap\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"at_mm", "900", KEY_NUMBER, false, "100", "15000", "99.9", "15000.5"},
    {"started_by", "\"signal\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"timed_by", "\"timer\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"stroke_ms", "120", KEY_NUMBER, false, "1", "5000", "0.9", "5000.5"},
    {"bin_packs", "40", KEY_INTEGER, false, "1", "10000", "0", "10001"},
};

static const BadKey plan_keys[] = {
    {"minutes", "60", KEY_INTEGER, false, "1", "1440", "0", "1441"},
    {"passes",
     "[ { \"pieces\": [\"brass\"], \"places\": [\"leading\"], \"order\": \"by-metal\" } ]",
     KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"good_run", "10", KEY_INTEGER, false, "0", "1000", "-1", "1001"},
    {"empty_first", "false", KEY_OTHER, true, NULL, NULL, NULL, NULL},
    {"off_centre_mm", "15", KEY_NUMBER, true, "1", "500", "0.9", "500.5"},
    {"bin_opened_by", "\"quality\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
};

/* Parts that the shipped site does not use, so that each can take every value; on the line, packs
 * come so seldom that its devices can be anywhere. */
#define SPARE_HEAD                                                                                 \
    "{ \"id\": \"spare\", \"kind\": \"tunnel\", \"aperture_width_mm\": 300, "                      \
    "\"aperture_height_mm\": 100, \"frequency_khz\": 350, \"false_reject_rate\": 1e-6 },\n"
#define SPARE_PRODUCT                                                                              \
    "{ \"id\": \"spare\", \"kind\": \"dry\", \"name\": { \"en\": \"Spare\" }, \"length_mm\": 9, "  \
    "\"width_mm\": 9, \"height_mm\": 9, \"piece_goes\": [\"inside\"] },\n"
#define REJECT_AT(mm)                                                                              \
    "{ \"kind\": \"flap\", \"at_mm\": " mm ", \"started_by\": \"signal\", \"timed_by\": "          \
    "\"timer\", \"stroke_ms\": 120, \"bin_packs\": 40 }"
#define PROGRAMS                                                                                   \
    "[ { \"product\": \"butter-200\", \"validated\": [ { \"metal\": \"brass\", "                   \
    "\"diameter_mm\": 2.0 } ] } ]"
#define SPARE_LINE                                                                                 \
    "{ \"id\": \"spare\", \"name\": { \"en\": \"Spare\" }, \"head\": \"d-small\", "                \
    "\"belt_mm_s\": 5000, \"packs_per_minute\": 1, \"end_mm\": 18000, \"reject\": " REJECT_AT(     \
        "200") ", \"programs\": " PROGRAMS ", \"check_plans\": {} },\n"

static const BadKey line_keys[] = {
    {"id", "\"spare\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"name", "{ \"en\": \"D1\" }", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"lanes", "1", KEY_OTHER, true, NULL, NULL, NULL, NULL},
    {"head", "\"d-small\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"belt_mm_s", "5000", KEY_NUMBER, false, "1", "5000", "0.99", "5000.5"},
    {"packs_per_minute", "0.5", KEY_NUMBER, false, "0.1", "2000", "0.09", "2000.5"},
    {"infeed_mm", "-12000", KEY_NUMBER, true, "-15000", "-200", "-15000.5", "-199"},
    {"eye_mm", "-150", KEY_NUMBER, true, "-10000", "-1", "-10000.5", "-0.5"},
    {"end_mm", "500", KEY_NUMBER, true, "200", "18000", "199.5", "18000.5"},
    {"belt_above_floor_mm", "0", KEY_OTHER, true, NULL, NULL, NULL, NULL},
    {"reject", REJECT_AT("100"), KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"programs", PROGRAMS, KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"check_plans", "{}", KEY_OTHER, false, NULL, NULL, NULL, NULL},
};

static size_t check_object(Shipped *shipped, const char *good, const char *start,
                           const BadKey keys[], size_t count)
{
    Text before = {0};
    BadObject object = {keys, count, NULL, NULL};
    bad_find_object(good, start, &before, &object.after);
    object.before = before.bytes;
    size_t rows = bad_check_object(&object, parse, shipped);
    text_clear(&before);
    return rows;
}
#define CHECK_OBJECT(good, start, keys)                                                            \
    check_object(shipped, good, start, keys, sizeof(keys) / sizeof((keys)[0]))

/* The shipped site with one part more in front of the list that follows `key`. */
static void with_spare(const Shipped *shipped, const char *key, const char *part, Text *out)
{
    const char *good = shipped->text.bytes;
    const char *at = strstr(good, key);
    if (at == NULL) fail_msg("the good text has no %s", key);
    at += strlen(key);
    text_add_bytes(out, good, (size_t)(at - good));
    text_addf(out, "%s%s", part, at);
}

static void test_site_parse_limits(void **state)
{
    Shipped *shipped = *state;
    Text heads = {0};
    Text products = {0};
    Text lines = {0};
    with_spare(shipped, "\"heads\": [", SPARE_HEAD, &heads);
    with_spare(shipped, "\"products\": [", SPARE_PRODUCT, &products);
    with_spare(shipped, "\"lines\": [", SPARE_LINE, &lines);
    size_t rows = CHECK_OBJECT(heads.bytes, "{ \"id\": \"spare\"", head_keys);
    rows += CHECK_OBJECT(products.bytes, "{ \"id\": \"spare\"", product_keys);
    rows += CHECK_OBJECT(lines.bytes, "{ \"id\": \"spare\"", line_keys);
    rows += CHECK_OBJECT(lines.bytes, "{ \"kind\": \"flap\"", reject_keys);
    rows += CHECK_OBJECT(shipped->text.bytes, "{ \"id\": \"SS-45-02\"", piece_keys);
    rows += CHECK_OBJECT(shipped->text.bytes, "{ \"id\": \"WIRE-12\"", wire_keys);
    rows += CHECK_OBJECT(shipped->text.bytes, "{ \"minutes\": 60", plan_keys);
    print_message("%zu bad sites\n", rows);
    assert_true(rows >= BAD_ROWS_MIN);
    text_clear(&heads);
    text_clear(&products);
    text_clear(&lines);
}

/* A list of so many parts: at its limit it is read, one past it is not. */
static void check_count(Shipped *shipped, const char *key, const char *name,
                        void (*add)(int number, Text *out), int there, int max)
{
    for (int count = max; count <= max + 1; count++) {
        Text parts = {0};
        Text marked = {0};
        Text text = {0};
        Text want = {0};
        for (int i = 0; i < count - there; i++) {
            add(i, &parts);
        }
        text_addf(&want, "%s has %d elements, limit 1..%d", name, count, max);
        with_spare(shipped, key, text_string(&parts), &text);
        const char *list = strstr(text.bytes, key) + strlen(key) - 1; /* the bracket */
        text_add_bytes(&marked, text.bytes, (size_t)(list - text.bytes));
        text_addf(&marked, "^%s", list);
        assert_true(
            bad_is_told(name, marked.bytes, parse, shipped, count == max ? NULL : want.bytes));
        text_clear(&parts);
        text_clear(&marked);
        text_clear(&text);
        text_clear(&want);
    }
}

static void add_language(int number, Text *out)
{
    text_addf(out, "\"en-x-%d\", ", number);
}

static void add_head(int number, Text *out)
{
    text_addf(out,
              "{ \"id\": \"h%d\", \"kind\": \"tunnel\", \"aperture_width_mm\": 300, "
              "\"aperture_height_mm\": 100, \"frequency_khz\": 350, "
              "\"false_reject_rate\": 1e-6 },\n",
              number);
}

static void add_product(int number, Text *out)
{
    text_addf(out,
              "{ \"id\": \"p%d\", \"kind\": \"dry\", \"name\": { \"en\": \"P\" }, "
              "\"length_mm\": 9, \"width_mm\": 9, \"height_mm\": 9, "
              "\"piece_goes\": [\"inside\"] },\n",
              number);
}

static void add_piece(int number, Text *out)
{
    text_addf(out,
              "{ \"id\": \"w%d\", \"metal\": \"brass\", \"diameter_mm\": 1, \"length_mm\": 9, "
              "\"form\": \"wire\" },\n",
              number);
}

static void add_line(int number, Text *out)
{
    text_addf(out,
              "{ \"id\": \"l%d\", \"name\": { \"en\": \"L\" }, \"head\": \"d-small\", "
              "\"belt_mm_s\": 500, \"packs_per_minute\": 80, \"reject\": " REJECT_AT(
                  "200") ", \"programs\": " PROGRAMS ", \"check_plans\": {} },\n",
              number);
}

static void add_person(int number, Text *out)
{
    text_addf(out, "{ \"name\": \"P%d\" }, ", number);
}

/* The people of the invented site: who checks lines in the early shift, and who does not. */
static void test_site_people_shipped(void **state)
{
    const Shipped *shipped = *state;
    const Site *site = shipped->site;
    assert_int_equal(site->person_count, 10);
    for (int i = 0; i < site->person_count; i++) {
        const SitePerson *person = &site->people[i];
        assert_int_equal(person->shift, i < 6 ? SITE_EARLY : SITE_DAY);
        assert_int_equal(person->job == SITE_JOB_LINE_CHECKER, i < 6);
    }
    assert_string_equal(site->people[4].name, "Jo\xC3\xA3o");
    assert_int_equal(site->people[6].job, SITE_JOB_SUPERVISOR);
    assert_int_equal(site->people[9].job, SITE_JOB_TRAINER);
}

/* A name of 200 bytes is read, of 201 it is not. */
static void test_site_people_names(void **state)
{
    for (int bytes = SITE_NAME_BYTES_MAX; bytes <= SITE_NAME_BYTES_MAX + 1; bytes++) {
        Shipped *shipped = *state;
        Text name = {0};
        Text part = {0};
        Text text = {0};
        for (int i = 0; i < bytes; i++) {
            text_add(&name, "n");
        }
        text_addf(&part, "{ \"name\": ^\"%s\" },", name.bytes);
        with_spare(shipped, "\"people\": [", part.bytes, &text);
        const char *want = "name is 201 bytes long, limit 1..200";
        assert_true(bad_is_told("long name", text.bytes, parse, shipped,
                                bytes == SITE_NAME_BYTES_MAX ? NULL : want));
        text_clear(&name);
        text_clear(&part);
        text_clear(&text);
    }
}

static void test_site_parse_counts(void **state)
{
    check_count(*state, "\"people\": [", "people", add_person, 10, SITE_PEOPLE_MAX);
    check_count(*state, "\"languages\": [", "languages", add_language, 2, SITE_LANGUAGES_MAX);
    check_count(*state, "\"heads\": [", "heads", add_head, 7, SITE_HEADS_MAX);
    check_count(*state, "\"products\": [", "products", add_product, 10, SITE_PRODUCTS_MAX);
    check_count(*state, "\"pieces\": [", "pieces", add_piece, 26, SITE_PIECES_MAX);
    check_count(*state, "\"lines\": [", "lines", add_line, 7, SITE_LINES_MAX);
}

/* A text in sixteen languages is read, in seventeen it is not; nor is one in 100000, at once. */
static void test_site_read_text_counts(void **state)
{
    static const int counts[] = {16, 17, 100000};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        Text texts = {0};
        Text want = {0};
        BadRow row = {"languages",
                      "{ \"en\": \"Ostrel Mill, dairy and bakery\", \"pl\": \"Ostrel Mill, "
                      "mleczarnia i piekarnia\" }",
                      NULL, NULL, NULL};
        text_add(&texts, "^{\"en\": \"x\"");
        for (int n = 1; n < counts[i]; n++) {
            text_addf(&texts, ", \"en-x-%d\": \"x\"", n);
        }
        text_add(&texts, "}");
        text_addf(&want, "name has %d languages, limit 1..16", counts[i]);
        row.replacement = texts.bytes;
        row.want = counts[i] == 16 ? NULL : want.bytes;
        bad_check_rows(((Shipped *)*state)->text.bytes, &row, 1, parse, *state);
        text_clear(&texts);
        text_clear(&want);
    }
}

/* --- What was read --------------------------------------------------------------------------- */

/* The shipped file's own figures, read with the eye. */
static void test_site_parse_shipped(void **state)
{
    const Site *site = ((Shipped *)*state)->site;
    assert_string_equal(site->id, "ostrel-mill");
    assert_int_equal(site->head_count, 7);
    assert_int_equal(site->product_count, 10);
    assert_int_equal(site->piece_count, 26);
    assert_int_equal(site->line_count, 7);
    assert_int_equal(site->release_by, SITE_QUALITY);
    const SiteHead *head = &site->heads[site_find_head(site, "b-loaf")];
    assert_true(head->head.coils.aperture_width_m == 0.4);
    assert_true(head->head.frequency_hz == 340e3);
    /* of the kind: 20 mm behind the lining on either side, 0.35 of the coil's height */
    assert_true(fabs(head->head.coils.receiver_offset_m - 0.35 * 0.24) < 1e-12);
    assert_true(head->found_probability == 0.99999);
    const SiteLine *line = &site->lines[site_find_line(site, "d1")];
    assert_int_equal(line->setup.belt_um_s, 500000);
    assert_int_equal(line->setup.pitch_um, 375000); /* 500 mm/s, 80 a minute */
    assert_int_equal(line->setup.reject_um, 900000);
    assert_int_equal(line->setup.stroke_us, 120000);
    assert_int_equal(line->setup.started_by, LINE_BY_EYE);
    assert_int_equal(line->setup.timed_by, LINE_ENCODER);
    const SitePlan *plan = &line->plans[SITE_PLAN_INTERVAL];
    assert_true(plan->is_there && plan->empty_first && !plan->by_metal);
    assert_int_equal(plan->minutes, 60);
    assert_int_equal(plan->off_centre_um, 15000);
    assert_int_equal(plan->metal_count, 3);
    assert_false(line->plans[SITE_PLAN_END].is_there);
    const SitePiece *wire = &site->pieces[site_find_piece(site, "WIRE-12")];
    assert_true(wire->is_wire && wire->length_um == 12000 && wire->diameter_um == 500);
    assert_int_equal(site->pieces[site_find_piece(site, "NF-20-01")].state, SITE_CRACKED);
    assert_int_equal(site_find_piece(site, "nobody"), -1);
}

static void test_site_program_each(void **state)
{
    const Site *site = ((Shipped *)*state)->site;
    const SiteLine *line = &site->lines[site_find_line(site, "b1")];
    int rusk = site_find_product(site, "rusk-400");
    const SiteProgram *program = site_program(line, rusk);
    assert_non_null(program);
    assert_int_equal(program->product, rusk);
    assert_int_equal(program->validated_count, 3);
    assert_int_equal(program->validated[1].diameter_um, 2500);
    assert_null(site_program(line, site_find_product(site, "butter-200")));
}

/* The aperture of D1 is 100 mm high, the belt 15 mm above its floor, the butter 40 mm: its middle
 * is at 35 mm, 15 mm below the centre. Its salt at 4 C: 0.05 S/m less 2 parts in 100 for each of 16
 * kelvin. */
static void test_site_block_butter(void **state)
{
    const Site *site = ((Shipped *)*state)->site;
    const SiteLine *line = &site->lines[site_find_line(site, "d1")];
    ProductBlock block = site_block(site, line, site_find_product(site, "butter-200"));
    assert_true(fabs(block.centre_up_m + 0.015) < 1e-12);
    assert_true(block.length_m == 0.11 && block.width_m == 0.07 && block.height_m == 0.04);
    assert_true(fabs(block.conductivity_s_per_m - 0.05 * 0.68) < 1e-12);
    assert_int_equal(block.columns_across, 1);
    assert_true(block.relative_permeability == 1.0);
}

static void test_site_text_fallbacks(void **state)
{
    (void)state;
    static const struct {
        const char *texts, *language, *want;
    } texts[] = {
        {"{\"t\": {\"pl\": \"a\", \"en\": \"b\"}}", "pl", "a"},
        {"{\"t\": {\"pl\": \"a\", \"en\": \"b\"}}", "de", "b"},
        {"{\"t\": {\"pl\": \"a\", \"de\": \"b\"}}", "fr", "a"},
        {"{\"t\": {\"sr-Latn-RS\": \"a\"}}", "en", "a"},
        {"{}", "en", ""},
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        JsonDoc *doc = NULL;
        Err err = {0};
        SiteText text = {NULL};
        assert_true(json_parse("t", texts[i].texts, strlen(texts[i].texts), &doc, &err));
        assert_true(site_read_text(json_root(doc), "t", false, &text, &err));
        assert_string_equal(site_text(text, texts[i].language), texts[i].want);
        json_free(doc);
    }
}

/* RFC 5646 section 2.1, its shape alone, and section 4.4.1 for the length. */
static void test_site_read_text_tags(void **state)
{
    (void)state;
    static const struct {
        const char *tag;
        bool good;
    } tags[] = {
        {"en", true},
        {"pl-PL", true},
        {"sl-rozaj-biske-1994", true},
        {"de-CH-1901", true},
        {"zh-cmn-Hans-CN", true},
        {"es-419", true},
        {"en-x-a", true},
        {"abcdefgh", true},
        {"abcdefghi", false},
        {"e", false},
        {"", false},
        {"e1", false},
        {"en1", false},
        {"1994", false},
        {"en-", false},
        {"-en", false},
        {"en--GB", false},
        {"en_GB", false},
        {"en-abcdefghi", false},
        {"\xc3\xa9n", false},
        {"en ", false},
        {"en-abcdefgh-abcdefgh-abcdefgh-abcde", true},
        {"en-abcdefgh-abcdefgh-abcdefgh-abcdef", false},
    };
    for (size_t i = 0; i < sizeof tags / sizeof tags[0]; i++) {
        Text json = {0};
        JsonDoc *doc = NULL;
        Err err = {0};
        SiteText text = {NULL};
        text_addf(&json, "{\"t\": {\"%s\": \"x\"}}", tags[i].tag);
        assert_true(json_parse("t", json.bytes, json.len, &doc, &err));
        if (site_read_text(json_root(doc), "t", true, &text, &err) != tags[i].good) {
            fail_msg("%s: %s", tags[i].tag, err.text);
        }
        json_free(doc);
        text_clear(&json);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_site_parse_shipped),    cmocka_unit_test(test_site_program_each),
        cmocka_unit_test(test_site_block_butter),     cmocka_unit_test(test_site_text_fallbacks),
        cmocka_unit_test(test_site_read_text_tags),   cmocka_unit_test(test_site_parse_bad),
        cmocka_unit_test(test_site_parse_limits),     cmocka_unit_test(test_site_parse_counts),
        cmocka_unit_test(test_site_read_text_counts), cmocka_unit_test(test_site_people_shipped),
        cmocka_unit_test(test_site_people_names),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
