/* Tables of spreadsheets into a copy of Ostrel Mill's site. */
#include "app/import.h"

#include <stdio.h>

#include "program.h"

#include "scenario/sheet.h"

/* A fresh copy of the site in the test's folder. */
static void copy_site(const char *folder)
{
    Text text = {0};
    read_file("tests/data", "two_lines.json", &text);
    write_file(folder, "site.json", text.bytes);
    text_clear(&text);
}

static bool read_import(const char *folder, SiteList list, const char *csv, const char *const *maps,
                        size_t map_count, Import **out, Err *err)
{
    Text file = {0};
    write_file(folder, "t.csv", csv);
    text_addf(&file, "%s/t.csv", folder);
    ImportJob job = {.list = list,
                     .file = file.bytes,
                     .folder = folder,
                     .assets = "assets",
                     .maps = maps,
                     .map_count = map_count};
    bool ok = import_read(&job, out, err);
    text_clear(&file);
    return ok;
}

/* What an import says: its errors without the folder, a line each; else what it would do. */
static void say(const char *folder, const Import *import, Text *out)
{
    for (size_t i = 0; i < import_error_count(import); i++) {
        const char *text = import_error(import, i);
        assert_int_equal(strncmp(text, folder, strlen(folder)), 0);
        text_addf(out, "%s\n", text + strlen(folder) + 1);
    }
    if (out->len == 0) import_tell(import, out);
}

static void expect_mapped(const char *folder, SiteList list, const char *csv,
                          const char *const *maps, size_t map_count, const char *want)
{
    Import *import = NULL;
    Err err = {0};
    Text got = {0};
    if (!read_import(folder, list, csv, maps, map_count, &import, &err)) fail_msg("%s", err.text);
    say(folder, import, &got);
    if (strcmp(text_string(&got), want) != 0) {
        (void)fprintf(stderr, "got:\n%s\nwant:\n%s\n", text_string(&got), want);
        fail_msg("%.300s", csv);
    }
    import_free(import);
    text_clear(&got);
}

static void expect(const char *folder, SiteList list, const char *csv, const char *want)
{
    expect_mapped(folder, list, csv, NULL, 0, want);
}

static void expect_refused(const char *folder, const char *csv, const char *const *maps,
                           size_t map_count, const char *want)
{
    Import *import = NULL;
    Err err = {0};
    assert_false(read_import(folder, SITE_PIECES, csv, maps, map_count, &import, &err));
    if (strstr(err.text, want) == NULL) fail_msg("got \"%s\", want \"%s\"", err.text, want);
}

/* --- What is told ---------------------------------------------------------------------------- */

static void test_import_tells_added_changed_left(void **state)
{
    const char *folder = folder_of(state);
    copy_site(folder);
    expect(folder, SITE_PEOPLE,
           "\xef\xbb\xbfname,shift,role\r\nIfe,late,\r\nMarit,early,line-checker\r\n"
           "\"Odd, \"\"the\"\" first\",night,supervisor\r\n,,\r\nBram,,\r\n",
           "changed  Ife: shift \"early\" -> \"late\"\n"
           "changed  Marit: role \"line-checker\"\n"
           "added    Odd, \"the\" first: shift \"night\", role \"supervisor\"\n");
    expect(folder, SITE_PIECES,
           "id;metal;diameter_mm;form;certificate;good_until;length_mm\n"
           "SS-30-09;stainless-316;3,0;card;C-77;2028-01-31;\n"
           "SS-25-07;;2,50;;;2028-03-31;\n"
           "WIRE-15;copper;0.5;wire;;;15\n",
           "added    SS-30-09: metal \"stainless-316\", diameter_mm 3.0, form \"card\", "
           "certificate \"C-77\", good_until \"2028-01-31\"\n"
           "changed  SS-25-07: good_until \"2027-03-31\" -> \"2028-03-31\"\n"
           "added    WIRE-15: metal \"copper\", diameter_mm 0.5, form \"wire\", length_mm 15\n");
    expect(folder, SITE_PRODUCTS,
           "id,kind,name,name_pl,length_mm,width_mm,height_mm,columns,piece_goes\n"
           "bun-6,bread,Six buns,Bułki,200,110,80,3 2,on-top inside\n"
           "rusk-400,dry,,Suchary 400 g,,,,,inside\n",
           "added    bun-6: kind \"bread\", name \"Six buns\", name_pl \"Bułki\", length_mm 200, "
           "width_mm 110, height_mm 80, columns [3, 2], piece_goes [\"on-top\", \"inside\"]\n"
           "changed  rusk-400: name_pl \"Sucharki 400 g\" -> \"Suchary 400 g\"\n");
    expect(folder, SITE_LINES,
           "id,like,name,belt_mm_s,reject_at_mm,product,validated_brass_mm,"
           "validated_chrome-steel_mm,validated_stainless-316_mm\n"
           "d2,d1,\"D2, butter\",450,950,butter-200,2,1.5,2.5\n"
           "d2,,,,,butter-plain-200,2,1.5,2.5\n"
           "d3,d1,D3,,,,,,\n"
           "d1,,,,,butter-200,2.2,,\n",
           "added    d2: product butter-200, name \"D2, butter\", belt_mm_s 500 -> 450, "
           "reject_at_mm 900 -> 950, validated_brass_mm 2, validated_chrome-steel_mm 1.5, "
           "validated_stainless-316_mm 2.5, product butter-plain-200, validated_brass_mm 2, "
           "validated_chrome-steel_mm 1.5, validated_stainless-316_mm 2.5\n"
           "added    d3: name \"D3\"\n"
           "changed  d1: validated_brass_mm 2.0 -> 2.2\n");
}

/* Every error of a file at once, in its row and column. */
static void test_import_tells_every_error(void **state)
{
    const char *folder = folder_of(state);
    copy_site(folder);
    expect(
        folder, SITE_PIECES,
        "id,metal,diameter_mm,form,certificate,good_until,length_mm,state\n"
        "A,gold,200,crad,C,31.03.2027,5,broken\n"
        "B,brass,two,card,,2027-03-31,,\n"
        "B,brass,2,card,C,2027-03-31,,\n"
        "C,brass,2,card,C,2027-03-31,5,\n"
        "D,brass,\"2,5\",card,C,2027-03-31\n"
        "E E,,2,wire,,,3,\n"
        ",brass,2,card,C,2027-03-31,,\n"
        "SS-25-07,,0,,,,,\n",
        "t.csv:2:2: error: metal is \"gold\", must be one of \"stainless-304\", "
        "\"stainless-316\", \"chrome-steel\", \"carbon-steel\", \"brass\", \"aluminium\", "
        "\"copper\", \"lead\"\n"
        "t.csv:2:3: error: diameter_mm is 200, limit 0.01..100\n"
        "t.csv:2:4: error: form is \"crad\", must be one of \"card\", \"stick\", \"puck\", "
        "\"wire\"; did you mean \"card\"?\n"
        "t.csv:2:6: error: good_until is \"31.03.2027\", must be a day of the calendar such as "
        "2026-03-02\n"
        "t.csv:2:8: error: state is \"broken\", must be one of \"sound\", \"cracked\", "
        "\"unreadable\"\n"
        "t.csv:3:3: error: diameter_mm is \"two\", must be a number such as 2.5 (a decimal comma "
        "wants semicolons between the cells)\n"
        "t.csv:3:5: error: certificate is missing\n"
        "t.csv:4:1: error: id \"B\" is there twice, first in row 3\n"
        "t.csv:5:7: error: length_mm belongs to a wire, and this is a card\n"
        "t.csv:6:6: error: the row has 6 cells, and there are 8 headings\n"
        "t.csv:7:1: error: id is \"E E\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'\n"
        "t.csv:7:2: error: metal is missing, and \"E E\" is new\n"
        "t.csv:7:7: error: length_mm is 3, limit 4..1000\n"
        "t.csv:8:1: error: id is missing\n"
        "t.csv:9:3: error: diameter_mm is 0, limit 0.01..100\n");
    expect(folder, SITE_LINES,
           "id,like,name,belt_mm_s,product,validated_brass_mm\n"
           "d2,d9,D2,fast,butter-200,2\n"
           "d3,,D3,400,,2\n"
           "d1,,,400,,\n"
           "d1,,,500,butter-200,\n"
           "b1,,,,rusk,2\n",
           "t.csv:2:1: error: the plan asks for chrome-steel, but no chrome-steel is validated for "
           "butter-200\n"
           "t.csv:2:2: error: there is no line \"d9\" in this site\n"
           "t.csv:2:4: error: belt_mm_s is \"fast\", must be a number such as 2.5 (a decimal comma "
           "wants semicolons between the cells)\n"
           "t.csv:3:2: error: like is missing, and \"d3\" is new\n"
           "t.csv:3:6: error: validated_brass_mm is given without a product\n"
           "t.csv:5:4: error: belt_mm_s is \"500\", but \"400\" in row 4 of the same line\n"
           "t.csv:6:5: error: there is no product \"rusk\" in this site\n");
    expect(folder, SITE_PIECES, "id,metal\nA,brass\nB,lead\nC,tin\n",
           "t.csv:2:1: error: diameter_mm is missing, and \"A\" is new\nt.csv:2:1: error: form is "
           "missing, and \"A\" is new\nt.csv:4:2: error: metal is \"tin\", must be one of "
           "\"stainless-304\", \"stainless-316\", \"chrome-steel\", \"carbon-steel\", \"brass\", "
           "\"aluminium\", \"copper\", \"lead\"\n");
}

/* The donor of a row that has no column for what it needs may be of another form. */
static void test_import_first_piece_is_a_wire(void **state)
{
    const char *folder = folder_of(state);
    Text site = {0};
    copy_site(folder);
    read_file(folder, "site.json", &site);
    char *first = strstr(site.bytes, "{ \"id\": \"FE-15-03\"");
    char *wire = strstr(site.bytes, "    { \"id\": \"WIRE-12\"");
    Text moved = {0};
    size_t len = strcspn(wire, "\n");
    text_add_bytes(&moved, site.bytes, (size_t)(first - site.bytes));
    text_add_bytes(&moved, wire + 4, len - 4);
    text_add(&moved, ",\n    ");
    text_add_bytes(&moved, first, strlen(first) - strlen(wire) - 2); /* but the comma */
    text_add(&moved, wire + len);
    write_file(folder, "site.json", moved.bytes);
    expect(folder, SITE_PIECES, "id,form\nA,card\n",
           "t.csv:2:1: error: metal is missing, and \"A\" is new\n"
           "t.csv:2:1: error: diameter_mm is missing, and \"A\" is new\n");
    expect(folder, SITE_PIECES,
           "id,metal,diameter_mm,form\nA,brass,ąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąą,wire\n",
           "t.csv:2:1: error: length_mm is missing\n"
           "t.csv:2:3: error: diameter_mm is \"ąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąąą\", must be a "
           "number such as 2.5 (a decimal comma wants semicolons between the cells)\n");
    text_clear(&moved);
    text_clear(&site);
}

static void test_import_headings(void **state)
{
    const char *folder = folder_of(state);
    static const char *const maps[] = {"name=Imię, nazwisko", "shift=Zmiana=", "=Telefon"};
    static const char *const unknown[] = {"shfit=Zmiana"};
    static const char *const nowhere[] = {"shift=Zmiana"};
    static const char *const shapeless[] = {"shift"};
    copy_site(folder);
    expect_mapped(folder, SITE_PEOPLE, "Zmiana=;\"Imię, nazwisko\";Telefon;\nnight;Ife;12;\n", maps,
                  3, "changed  Ife: shift \"early\" -> \"night\"\n");
    expect(folder, SITE_PEOPLE, "name,shfit,role,role,\nIfe,late,,,\n",
           "t.csv:1:2: error: unknown heading \"shfit\"; did you mean \"shift\"? --map "
           "'shift=shfit' takes it as ours, --map '=shfit' leaves it out\n"
           "t.csv:1:4: error: \"role\" is there twice, first in column 3\n");
    expect(folder, SITE_PEOPLE, "name,What they do\nIfe,late\n",
           "t.csv:1:2: error: unknown heading \"What they do\"; ours are name, role, shift; --map "
           "'OUR=What they do' takes it as ours, --map '=What they do' leaves it out\n");
    expect(folder, SITE_PEOPLE, "name,\nIfe,late\n",
           "t.csv:2:2: error: the column has no heading\n");
    expect(folder, SITE_PEOPLE, "shift\nlate\n",
           "t.csv:1:1: error: there is no column \"name\", which tells people apart\n");
    expect(folder, SITE_PRODUCTS, "id,name_de\nx,y\n",
           "t.csv:1:2: error: \"name_de\": de is none of the site's languages\n");
    expect(folder, SITE_PRODUCTS, "id,name,name_en\nx,y,z\n",
           "t.csv:1:3: error: \"name_en\" is there twice, first in column 2\n");
    expect(folder, SITE_LINES, "id,validated_gold_mm\nx,y\n",
           "t.csv:1:2: error: \"validated_gold_mm\": there is no metal \"gold\"\n");
    expect_refused(folder, "id\nx\n", nowhere, 1, "--map: pieces have no \"shift\"");
    expect_refused(folder, "id\nx\n", unknown, 1, "--map: pieces have no \"shfit\"");
    expect_refused(folder, "id\nx\n", shapeless, 1, "must be 'OUR=THEIR HEADING'");
    static const char *const missing[] = {"form=Form"};
    expect_refused(folder, "id\nx\n", missing, 1,
                   "t.csv:1:1: error: --map \"form=Form\": there is no heading \"Form\"");
}

/* Rows that are right alone, and make the site wrong. */
static void test_import_rows_that_do_not_go_together(void **state)
{
    const char *folder = folder_of(state);
    copy_site(folder);
    expect(folder, SITE_PRODUCTS,
           "id,width_mm,length_mm,height_mm,kind,name,piece_goes\n"
           "butter-200,71,,,,,\n"
           "new,71,100,50,dry,N,inside\n"
           "loaf-800,410,,,,,\n"
           "butter-plain-200,310,,,,,\n",
           "t.csv:4:1: error: with this row the site is wrong: loaf-800 is 410 mm wide and reaches "
           "125 mm above the floor of an aperture of 400 x 200 mm; belt_above_floor_mm is 15, "
           "measured from the bottom of the aperture\n"
           "t.csv:5:1: error: with this row the site is wrong: butter-plain-200 is 310 mm wide and "
           "reaches 55 mm above the floor of an aperture of 300 x 100 mm; belt_above_floor_mm is "
           "15, measured from the bottom of the aperture\n");
}

/* --- Limits: what the site takes, each at it and past it ------------------------------------ */

typedef struct {
    SiteList list;
    const char *base; /* headings and cells of a good row, '@' for the column and for its value */
    const char *column, *key;
    const char *min, *below, *max, *above;
} Limit;

static void put_at(const char *base, const char *column, const char *value, Text *out)
{
    const char *parts[] = {column, value};
    for (int i = 0; *base != '\0'; base++) {
        if (*base == '@')
            text_add(out, parts[i++]);
        else
            text_add_bytes(out, base, 1);
    }
}

static void try_limit(const char *folder, const Limit *limit, const char *value, bool fits)
{
    Import *import = NULL;
    Err err = {0};
    Text csv = {0};
    Text got = {0};
    Text want = {0};
    put_at(limit->base, limit->column, value, &csv);
    text_addf(&want, "t.csv:2:2: error: %s is %s, limit %s..%s\n", limit->key, value, limit->min,
              limit->max);
    if (!read_import(folder, limit->list, csv.bytes, NULL, 0, &import, &err)) {
        fail_msg("%s", err.text);
    }
    say(folder, import, &got);
    bool blamed = strstr(text_string(&got), want.bytes) != NULL;
    if (blamed == fits || (!fits && import_error_count(import) == 0)) {
        fail_msg("%s %s: got \"%s\"", limit->column, value, text_string(&got));
    }
    import_free(import);
    text_clear(&want);
    text_clear(&got);
    text_clear(&csv);
}

static void test_import_limits(void **state)
{
    static const char card[] =
        "id,@,metal,form,certificate,good_until\nP,@,brass,card,C,2027-01-31\n";
    static const char product[] = "id,@\nbutter-200,@\n";
    static const char line[] = "id,@\nd1,@\n";
    static const Limit rows[] = {
        {SITE_PIECES, card, "diameter_mm", "diameter_mm", "0.01", "0.009", "100", "100.1"},
        {SITE_PRODUCTS, product, "length_mm", "length_mm", "1", "0.9", "5000", "5001"},
        {SITE_PRODUCTS, product, "width_mm", "width_mm", "1", "0.9", "5000", "5001"},
        {SITE_PRODUCTS, product, "height_mm", "height_mm", "1", "0.9", "5000", "5001"},
        {SITE_PRODUCTS, product, "temperature_c", "temperature_c", "-60", "-61", "150", "151"},
        {SITE_PRODUCTS, product, "conductivity_s_per_m", "conductivity_s_per_m", "0", "-1", "100",
         "101"},
        {SITE_PRODUCTS, product, "relative_permeability", "relative_permeability", "1", "0.9",
         "1.1", "1.2"},
        {SITE_LINES, line, "belt_mm_s", "belt_mm_s", "1", "0.5", "5000", "5001"},
        {SITE_LINES, line, "packs_per_minute", "packs_per_minute", "0.1", "0.05", "2000", "2001"},
        {SITE_LINES, line, "lanes", "lanes", "1", "0", "8", "9"},
        {SITE_LINES, line, "infeed_mm", "infeed_mm", "-15000", "-15001", "-200", "-199"},
        {SITE_LINES, line, "eye_mm", "eye_mm", "-10000", "-10001", "-1", "0"},
        {SITE_LINES, line, "end_mm", "end_mm", "200", "199", "18000", "18001"},
        {SITE_LINES, line, "belt_above_floor_mm", "belt_above_floor_mm", "0", "-1", "3000", "3001"},
        {SITE_LINES, line, "reject_at_mm", "at_mm", "100", "99", "15000", "15001"},
        {SITE_LINES, line, "reject_stroke_ms", "stroke_ms", "1", "0.5", "5000", "5001"},
        {SITE_LINES, line, "reject_bin_packs", "bin_packs", "1", "0", "10000", "10001"},
    };
    const char *folder = folder_of(state);
    copy_site(folder);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        try_limit(folder, &rows[i], rows[i].min, true);
        try_limit(folder, &rows[i], rows[i].below, false);
        try_limit(folder, &rows[i], rows[i].max, true);
        try_limit(folder, &rows[i], rows[i].above, false);
    }
}

static void test_import_text_limits(void **state)
{
    const char *folder = folder_of(state);
    static const struct {
        SiteList list;
        const char *before, *behind;
        size_t max;
        const char *want;
    } rows[] = {
        {SITE_PEOPLE, "name\n", "\n", SITE_NAME_BYTES_MAX,
         "t.csv:2:1: error: name is 201 bytes long, limit 1..200\n"},
        {SITE_PIECES, "id,certificate\nSS-25-07,", "\n", 64,
         "t.csv:2:2: error: certificate is 65 bytes long, limit 1..64\n"},
    };
    copy_site(folder);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (size_t more = 0; more < 2; more++) {
            Import *import = NULL;
            Err err = {0};
            Text csv = {0};
            Text got = {0};
            text_add(&csv, rows[i].before);
            for (size_t j = 0; j < rows[i].max + more; j++) {
                text_add(&csv, "x");
            }
            text_add(&csv, rows[i].behind);
            assert_true(read_import(folder, rows[i].list, csv.bytes, NULL, 0, &import, &err));
            say(folder, import, &got);
            if (more == 0) assert_int_equal(import_error_count(import), 0);
            if (more == 1) assert_string_equal(text_string(&got), rows[i].want);
            import_free(import);
            text_clear(&got);
            text_clear(&csv);
        }
    }
}

/* --- Writing --------------------------------------------------------------------------------- */

/* As many people as a site may have, written and read back; one more is refused. */
static void test_import_five_thousand_people(void **state)
{
    const char *folder = folder_of(state);
    Import *import = NULL;
    Err err = {0};
    Text csv = {0};
    Text site = {0};
    copy_site(folder);
    text_add(&csv, "name,shift\r\n");
    for (int i = 0; i < SITE_PEOPLE_MAX - 10; i++) { /* the mill has 10 */
        text_addf(&csv, "Person %d,%s\r\n", i, site_shift_words[i % SITE_SHIFT_COUNT]);
    }
    assert_true(read_import(folder, SITE_PEOPLE, csv.bytes, NULL, 0, &import, &err));
    assert_int_equal(import_error_count(import), 0);
    assert_int_equal(import_count(import).added, SITE_PEOPLE_MAX - 10);
    if (!import_write(import, &err)) fail_msg("%s", err.text);
    import_free(import);
    read_file(folder, "site.json", &site);
    assert_non_null(strstr(site.bytes, "{ \"name\": \"Person 4989\", \"shift\": \"late\" }"));
    assert_true(read_import(folder, SITE_PEOPLE, csv.bytes, NULL, 0, &import, &err));
    assert_int_equal(import_count(import).same, SITE_PEOPLE_MAX - 10);
    import_free(import);
    expect(folder, SITE_PEOPLE, "name\nOne more\n",
           "t.csv:2:1: error: from this row on the site has over 5000 people, limit 1..5000\n");
    text_clear(&site);
    text_clear(&csv);
}

/* Nothing of the file changes but what was to change. */
static void test_import_write_keeps_the_rest(void **state)
{
    const char *folder = folder_of(state);
    Import *import = NULL;
    Err err = {0};
    Text before = {0};
    Text behind = {0};
    copy_site(folder);
    read_file(folder, "site.json", &before);
    assert_true(read_import(folder, SITE_PIECES, "id,good_until\nSS-45-02,2029-03-31\n", NULL, 0,
                            &import, &err));
    assert_true(import_write(import, &err));
    import_free(import);
    read_file(folder, "site.json", &behind);
    char *date = strstr(strstr(before.bytes, "SS-45-02"), "2027-03-31");
    date[3] = '9';
    assert_string_equal(behind.bytes, before.bytes);
    text_clear(&before);
    text_clear(&behind);
}

/* A site that somebody changed between reading and writing stays, and nothing lies beside it. */
static void test_import_write_sees_a_change(void **state)
{
    const char *folder = folder_of(state);
    Import *import = NULL;
    Err err = {0};
    Text site = {0};
    Text aside = {0};
    copy_site(folder);
    assert_true(read_import(folder, SITE_PEOPLE, "name\nOdd\n", NULL, 0, &import, &err));
    write_file(folder, "site.json", "{}");
    assert_false(import_write(import, &err));
    assert_non_null(strstr(err.text, "was changed by somebody else meanwhile"));
    read_file(folder, "site.json", &site);
    assert_string_equal(site.bytes, "{}");
    text_addf(&aside, "%s/site.json.import", folder);
    assert_false(os_is_file(aside.bytes));
    import_free(import);
    text_clear(&aside);
    text_clear(&site);
}

/* Where the new site cannot be put beside the old one, the old one stays. */
static void test_import_write_cannot(void **state)
{
    const char *folder = folder_of(state);
    Import *import = NULL;
    Err err = {0};
    Text before = {0};
    Text behind = {0};
    Text aside = {0};
    copy_site(folder);
    read_file(folder, "site.json", &before);
    text_addf(&aside, "%s/site.json.import", folder);
    assert_true(os_folder_make(aside.bytes, &err));
    assert_true(read_import(folder, SITE_PEOPLE, "name\nOdd\n", NULL, 0, &import, &err));
    assert_false(import_write(import, &err));
    assert_int_equal(err.code, ERR_IO);
    read_file(folder, "site.json", &behind);
    assert_string_equal(behind.bytes, before.bytes);
    assert_int_equal(remove(aside.bytes), 0);
    import_free(import);
    text_clear(&aside);
    text_clear(&behind);
    text_clear(&before);
}

/* A site without people gets its first. */
static void test_import_first_people(void **state)
{
    const char *folder = folder_of(state);
    Import *import = NULL;
    Err err = {0};
    Text site = {0};
    copy_site(folder);
    read_file(folder, "site.json", &site);
    char *from = strstr(site.bytes, "  \"people\": [");
    char *to = strstr(from, "  \"heads\"");
    memmove(from, to, strlen(to) + 1);
    write_file(folder, "site.json", site.bytes);
    assert_true(read_import(folder, SITE_PEOPLE, "name\nOdd\nEven\n", NULL, 0, &import, &err));
    if (!import_write(import, &err)) fail_msg("%s", err.text);
    import_free(import);
    text_clear(&site);
    read_file(folder, "site.json", &site);
    assert_non_null(strstr(site.bytes, "  \"people\": [\n    { \"name\": \"Odd\" },\n"
                                       "    { \"name\": \"Even\" }\n  ]\n}"));
    text_clear(&site);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_import_tells_added_changed_left),
        cmocka_unit_test(test_import_tells_every_error),
        cmocka_unit_test(test_import_first_piece_is_a_wire),
        cmocka_unit_test(test_import_headings),
        cmocka_unit_test(test_import_rows_that_do_not_go_together),
        cmocka_unit_test(test_import_limits),
        cmocka_unit_test(test_import_text_limits),
        cmocka_unit_test(test_import_five_thousand_people),
        cmocka_unit_test(test_import_write_keeps_the_rest),
        cmocka_unit_test(test_import_write_sees_a_change),
        cmocka_unit_test(test_import_write_cannot),
        cmocka_unit_test(test_import_first_people),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
