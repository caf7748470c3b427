/* Reads the tree and prints, as "file:line: text", where it leaves the house's rules.
 *
 *   tidy TREE                the tree; exits 1 when there is anything to print
 *   tidy --self-test FOLDER  writes the bad files of the table at the end into a new tree below
 *                            FOLDER and wants each rule to find its own, and nothing else
 *
 * It reads text, not C: a copy of each file in which comments and the insides of literals are blank
 * is cut into words. That is enough for what a compiler and clang-tidy do not look at. */
#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"

enum {
    FILE_BYTES_MAX = 16 * 1024 * 1024,
    COLUMNS_MAX = 100,
    FUNCTION_LINES_MAX = 70,
    DEPTH_MAX = 64
};

/* Lists of words, a blank between two. The layers are in the order in which each may include the
 * ones before; the headers are those of ISO/IEC 9899:2011, 7.1.2 paragraph 2. */
static const char LAYERS[] =
    "base detector line scenario player scoring records reports app ui cli";
static const char TOP[] =
    "README.md DEVELOPERS.md LICENSE CMakeLists.txt src assets scenarios tests docs tools build";
static const char C11_HEADERS[] =
    "assert.h complex.h ctype.h errno.h fenv.h float.h inttypes.h iso646.h limits.h locale.h "
    "math.h setjmp.h signal.h stdalign.h stdarg.h stdatomic.h stdbool.h stddef.h stdint.h "
    "stdio.h stdlib.h stdnoreturn.h string.h tgmath.h threads.h time.h uchar.h wchar.h wctype.h";
static const char BANNED[] =
    "strcpy strcat sprintf vsprintf strtok atoi sscanf rand srand setlocale";
static const char BANNED_BUT_IN_OS[] = "time clock getenv";

/* The adapters: which file may include which library, by how their names begin. */
static const struct {
    const char *header;
    const char *file;
} ADAPTERS[] = {
    {"cjson/", "src/scenario/json.c"},
    {"sqlite3.h", "src/records/sqlite.c"},
    {"sodium.h", "src/records/sodium.c"},
    {"cairo", "src/reports/pdf.c"},
    {"pango", "src/reports/pdf.c"},
    {"SDL2/", "src/ui/sdl_"},
    {"SDL", "src/ui/sdl_"},
};

/* No file but this one may say these. */
static const struct {
    const char *text;
    const char *why;
} BANNED_TEXTS[] = {
    {"shared/", "names a folder outside the tree"},
    {"issue #", "the tree stands alone"},
    {"seed "
     "document",
     "names a document outside the tree"},
    {"TO"
     "DO",
     "finish it or leave it out"},
    {"FIX"
     "ME",
     "finish it or leave it out"},
};

/* What was found, one line each. */
typedef struct {
    Text text;
    int count;
} Report;

/* One file; `code` is as long as `bytes`, with comments, insides of literals and preprocessor lines
 * blanked, and ends in a NUL as `bytes` does. */
typedef struct {
    const char *path; /* from the tree's top */
    const char *bytes;
    char *code;
    size_t len;
    Report *report;
} Source;

static bool starts_with(const char *text, const char *start)
{
    return strncmp(text, start, strlen(start)) == 0;
}

static bool ends_with(const char *text, const char *end)
{
    size_t len = strlen(text);
    return len >= strlen(end) && strcmp(text + len - strlen(end), end) == 0;
}

/* The place of the word in a list, -1 where it is not. */
static int find_word(const char *list, const char *word, size_t len)
{
    for (int i = 0; *list != '\0'; i++) {
        size_t size = strcspn(list, " ");
        if (size == len && strncmp(list, word, len) == 0) return i;
        list += size + (list[size] == ' ' ? 1 : 0);
    }
    return -1;
}

static bool same(const char *word, size_t len, const char *text)
{
    return strlen(text) == len && strncmp(word, text, len) == 0;
}

static bool is_word(char c)
{
    return isalnum((unsigned char)c) || c == '_';
}

static PRINTF_LIKE(3, 4) void found(const Source *source, int line, const char *format, ...)
{
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    text_addf(&source->report->text, "%s:%d: %s\n", source->path, line, text);
    source->report->count++;
}

/* --- The copy without comments and literals -------------------------------------------------- */

/* Blank from `start` to `end`, keeping the ends of lines. */
static void blank(char *code, size_t start, size_t end)
{
    for (size_t i = start; i < end; i++) {
        if (code[i] != '\n') code[i] = ' ';
    }
}

/* The offset behind the comment, literal or directive that begins at `at`; `at` if none does. */
static size_t skip_text(const char *bytes, size_t at, bool line_begins)
{
    const char *end = NULL;
    if (bytes[at] == '/' && bytes[at + 1] == '*') {
        end = strstr(bytes + at + 2, "*/");
        return end == NULL ? strlen(bytes) : (size_t)(end - bytes) + 2;
    }
    if (bytes[at] == '/' && bytes[at + 1] == '/') return at + strcspn(bytes + at, "\n");
    if (bytes[at] == '#' && line_begins) {
        while (bytes[at] != '\0' && bytes[at] != '\n') {
            at += bytes[at] == '\\' && bytes[at + 1] != '\0' ? 2 : 1;
        }
        return at;
    }
    if (bytes[at] != '"' && bytes[at] != '\'') return at;
    char quote = bytes[at++];
    while (bytes[at] != '\0' && bytes[at] != '\n' && bytes[at] != quote) {
        at += bytes[at] == '\\' && bytes[at + 1] != '\0' ? 2 : 1;
    }
    return bytes[at] == quote ? at + 1 : at;
}

static char *make_code(const char *bytes, size_t len)
{
    char *code = check_calloc(len + 1, 1);
    memcpy(code, bytes, len);
    bool line_begins = true;
    for (size_t at = 0; at < len;) {
        size_t end = skip_text(bytes, at, line_begins);
        bool is_literal = bytes[at] == '"' || bytes[at] == '\'';
        if (end > at) {
            /* A literal keeps its quotes, which tell a character from a name. */
            blank(code, is_literal ? at + 1 : at, is_literal ? end - 1 : end);
            at = end;
            continue;
        }
        if (bytes[at] == '\n')
            line_begins = true;
        else if (!isspace((unsigned char)bytes[at]))
            line_begins = false;
        at++;
    }
    return code;
}

/* --- Lines: width, texts, includes, guards ---------------------------------------------------- */

static int columns_of(const char *line, size_t len)
{
    int columns = 0;
    for (size_t i = 0; i < len; i++) {
        if (((unsigned char)line[i] & 0xC0U) != 0x80U) columns++;
    }
    return columns;
}

/* True when `line` holds the text, in any case, not as the end of a longer word. */
static bool holds(const char *line, size_t len, const char *text)
{
    size_t size = strlen(text);
    for (size_t at = 0; at + size <= len; at++) {
        size_t alike = 0;
        while (alike < size &&
               tolower((unsigned char)line[at + alike]) == tolower((unsigned char)text[alike])) {
            alike++;
        }
        bool is_whole = !is_word(text[size - 1]) || at + size == len || !is_word(line[at + size]);
        if (alike == size && is_whole && (at == 0 || !is_word(line[at - 1]))) return true;
    }
    return false;
}

static void check_texts(const Source *source, int number, const char *line, size_t len)
{
    for (size_t i = 0; i < sizeof BANNED_TEXTS / sizeof BANNED_TEXTS[0]; i++) {
        if (holds(line, len, BANNED_TEXTS[i].text)) {
            found(source, number, "\"%s\": %s", BANNED_TEXTS[i].text, BANNED_TEXTS[i].why);
        }
    }
}

/* The place of the file's layer in LAYERS, -1 outside src/ or in a folder that is none. The program
 * itself, which ties cli and ui together, stands behind them all. */
static int layer_of(const char *path)
{
    if (strcmp(path, "src/main.c") == 0) return find_word(LAYERS, "cli", 3) + 1;
    if (!starts_with(path, "src/")) return -1;
    const char *name = path + strlen("src/");
    return find_word(LAYERS, name, strcspn(name, "/"));
}

static void check_own_include(const Source *source, int number, const char *name, size_t len)
{
    int layer = find_word(LAYERS, name, strcspn(name, "/\"\n"));
    int own = layer_of(source->path);
    int ui = find_word(LAYERS, "ui", 2);
    bool cli_takes_ui = layer == ui && own == find_word(LAYERS, "cli", 3);
    if (layer < 0) {
        found(source, number, "include \"%.*s\" does not begin with a layer", (int)len, name);
    } else if (layer > own || cli_takes_ui) {
        found(source, number, "include \"%.*s\" is not for this layer", (int)len, name);
    }
}

static void check_outside_include(const Source *source, int number, const char *name, size_t len)
{
    if (find_word(C11_HEADERS, name, len) >= 0) return;
    for (size_t i = 0; i < sizeof ADAPTERS / sizeof ADAPTERS[0]; i++) {
        if (!starts_with(name, ADAPTERS[i].header)) continue;
        if (starts_with(source->path, ADAPTERS[i].file) && ends_with(source->path, ".c")) return;
        found(source, number, "<%.*s> belongs in %s alone", (int)len, name, ADAPTERS[i].file);
        return;
    }
    if (strcmp(source->path, "src/base/os.c") == 0) return;
    found(source, number, "<%.*s> is not C11; it belongs in src/base/os.c", (int)len, name);
}

static void check_include(const Source *source, int number, const char *line)
{
    line += strspn(line, " ");
    if (*line++ != '#') return;
    line += strspn(line, " ");
    if (!starts_with(line, "include")) return;
    line += strlen("include");
    line += strspn(line, " ");
    if (*line == '"')
        check_own_include(source, number, line + 1, strcspn(line + 1, "\"\n"));
    else if (*line == '<')
        check_outside_include(source, number, line + 1, strcspn(line + 1, ">\n"));
    else
        found(source, number, "an include that is spelt by a macro");
}

static void check_guard(const Source *source)
{
    char guard[256] = "";
    const char *name = source->path + strlen("src/");
    for (size_t i = 0; name[i] != '\0' && i + 1 < sizeof guard; i++) {
        guard[i] = (char)(isalnum((unsigned char)name[i]) ? toupper((unsigned char)name[i]) : '_');
    }
    Text want = {0};
    text_addf(&want, "\n#ifndef %s\n#define %s\n", guard, guard);
    if (strstr(source->bytes, want.bytes) == NULL || !ends_with(source->bytes, "\n#endif\n")) {
        found(source, 1, "no header guard %s", guard);
    }
    text_clear(&want);
}

static bool is_c(const char *path)
{
    return ends_with(path, ".c") || ends_with(path, ".h");
}

static void check_lines(const Source *source)
{
    bool is_code = is_c(source->path) || starts_with(source->path, "tools/") ||
                   ends_with(source->path, "CMakeLists.txt");
    bool is_src = starts_with(source->path, "src/") && is_c(source->path);
    int number = 1;
    for (const char *line = source->bytes; *line != '\0'; number++) {
        size_t len = strcspn(line, "\n");
        if (is_code && columns_of(line, len) > COLUMNS_MAX) {
            found(source, number, "%d columns, limit %d", columns_of(line, len), COLUMNS_MAX);
        }
        if (strcmp(source->path, "tests/tidy.c") != 0) check_texts(source, number, line, len);
        if (is_src) check_include(source, number, line);
        line += len + (line[len] == '\n' ? 1 : 0);
    }
}

/* --- Words: calls, switches, functions, variables, comments on declarations ------------------- */

/* An open brace: a `switch` remembers what its labels are. */
typedef struct {
    bool is_switch;
    bool has_foreign_label; /* a number, a character, another library's name */
    int default_line;       /* 0: none */
} Brace;

/* Where reading stands. */
typedef struct {
    const Source *source;
    const char *at;
    int line;
    char before; /* the last character that is not blank */
    Brace braces[DEPTH_MAX];
    int depth;
    bool switch_pending;
    bool statement_begins; /* at depth 0 */
    int statement_line;    /* where it began */
    const char *statement; /* its text */
    bool is_function;      /* a brace at depth 0 opened a function's body */
    int documented_until;  /* last line of a declaration that has its comment, 0: none */
} Reader;

/* The offset of what closes the brace that `code` begins with. */
static size_t brace_length(const char *code)
{
    int depth = 0;
    size_t at = 0;
    for (; code[at] != '\0'; at++) {
        if (code[at] == '{') depth++;
        if (code[at] == '}' && --depth == 0) break;
    }
    return at;
}

/* True when the statement declares a variable that can change. A function pointer is one; after the
 * last '*' there must be a const, without '*' anywhere. */
static bool declares_mutable(const char *code)
{
    size_t names = 0;
    size_t needed = 2;
    bool is_constant = false;
    while (*code != '\0' && strchr("=;[", *code) == NULL) {
        size_t len = 0;
        while (is_word(code[len]))
            len++;
        if (*code == '(') {
            code += 1 + strspn(code + 1, " \n");
            if (*code != '*') return false;
            return strncmp(code + 1, "const", strlen("const")) != 0;
        }
        if (*code == '*') is_constant = false;
        if (*code == '{') {
            code += brace_length(code);
            names = 0;
            needed = 1;
            if (*code == '\0') return false;
        }
        if (len > 0) {
            if (same(code, len, "typedef")) return false;
            if (names == 0 && find_word("struct enum union", code, len) >= 0) needed++;
            if (same(code, len, "const"))
                is_constant = true;
            else if (!same(code, len, "static"))
                names++;
        }
        code += len > 0 ? len : 1;
    }
    return names >= needed && !is_constant;
}

/* True when a comment ends on the line above the statement and nothing else stands there. */
static bool comment_above(const Source *source, const char *statement)
{
    size_t end = (size_t)(statement - source->code);
    while (end > 0 && source->code[end - 1] != '\n')
        end--;
    if (end == 0) return false;
    size_t start = end - 1;
    while (start > 0 && source->code[start - 1] != '\n')
        start--;
    bool has_comment = false;
    for (size_t i = start; i + 1 < end; i++) {
        if (!isspace((unsigned char)source->code[i])) return false;
        if (source->bytes[i] == '*' && source->bytes[i + 1] == '/') has_comment = true;
    }
    return has_comment;
}

/* A statement of a header ended: a function's declaration has a comment above it, or follows at
 * once on a declaration that has. */
static void check_comment(Reader *reader)
{
    const char *open = reader->statement + strcspn(reader->statement, "({;=");
    bool is_function = *open == '(' && !starts_with(reader->statement, "typedef") &&
                       !starts_with(reader->statement, "_Static_assert");
    bool follows =
        reader->documented_until > 0 && reader->documented_until == reader->statement_line - 1;
    if (comment_above(reader->source, reader->statement) || follows) {
        reader->documented_until = reader->line;
    } else if (is_function && starts_with(reader->source->path, "src/")) {
        found(reader->source, reader->statement_line, "a public function without a comment above");
    }
}

static void check_function_length(const Reader *reader)
{
    int lines = reader->line - reader->statement_line + 1;
    if (lines <= FUNCTION_LINES_MAX) return;
    found(reader->source, reader->statement_line, "a function of %d lines, limit %d", lines,
          FUNCTION_LINES_MAX);
}

static void read_open(Reader *reader)
{
    CHECK(reader->depth < DEPTH_MAX);
    if (reader->depth == 0) reader->is_function = reader->before == ')';
    reader->braces[reader->depth++] = (Brace){.is_switch = reader->switch_pending};
    reader->switch_pending = false;
}

static void read_close(Reader *reader)
{
    if (reader->depth == 0) return; /* the compiler says so */
    Brace brace = reader->braces[--reader->depth];
    if (brace.default_line > 0 && !brace.has_foreign_label) {
        found(reader->source, brace.default_line, "default in a switch on our own names");
    }
    if (reader->depth == 0 && reader->is_function) {
        check_function_length(reader);
        if (ends_with(reader->source->path, ".h")) check_comment(reader);
        reader->statement_begins = true;
        reader->is_function = false;
    }
}

/* The label behind `case` is ours when it is a name in capitals of no other library. */
static bool is_foreign_label(const char *label)
{
    label += strspn(label, " (\n");
    return !isupper((unsigned char)*label) || starts_with(label, "SQLITE_") ||
           starts_with(label, "SDL");
}

static void check_call(const Reader *reader, const char *word, size_t len)
{
    const char *next = word + len;
    next += strspn(next, " \n");
    bool is_member = reader->before == '.' || reader->before == '>';
    if (*next != '(' || is_member) return;
    bool is_src = starts_with(reader->source->path, "src/");
    bool is_os = strcmp(reader->source->path, "src/base/os.c") == 0;
    if (find_word(BANNED, word, len) >= 0) {
        found(reader->source, reader->line, "%.*s is banned", (int)len, word);
    } else if (is_src && !is_os && find_word(BANNED_BUT_IN_OS, word, len) >= 0) {
        found(reader->source, reader->line, "%.*s belongs in src/base/os.c", (int)len, word);
    }
}

static void read_word(Reader *reader, const char *word, size_t len)
{
    Brace *brace = reader->depth > 0 ? &reader->braces[reader->depth - 1] : NULL;
    check_call(reader, word, len);
    if (same(word, len, "switch")) reader->switch_pending = true;
    if (same(word, len, "goto") && !starts_with(word + len, " done;")) {
        found(reader->source, reader->line, "a label other than done");
    }
    if (brace == NULL) return;
    if (brace->is_switch && same(word, len, "case")) {
        brace->has_foreign_label = brace->has_foreign_label || is_foreign_label(word + len);
    }
    if (brace->is_switch && same(word, len, "default")) brace->default_line = reader->line;
    if (same(word, len, "static") && starts_with(reader->source->path, "src/") &&
        declares_mutable(word)) {
        found(reader->source, reader->line, "a static that can change");
    }
}

static void begin_statement(Reader *reader)
{
    reader->statement_begins = false;
    reader->statement = reader->at;
    reader->statement_line = reader->line;
    if (starts_with(reader->source->path, "src/") && declares_mutable(reader->at)) {
        found(reader->source, reader->line, "a variable of the file that can change");
    }
}

static void check_words(const Source *source)
{
    Reader reader = {.source = source, .at = source->code, .line = 1, .statement_begins = true};
    while (*reader.at != '\0') {
        size_t len = 0;
        if (*reader.at == '\n') reader.line++;
        if (isspace((unsigned char)*reader.at)) {
            reader.at++;
            continue;
        }
        if (reader.depth == 0 && reader.statement_begins) begin_statement(&reader);
        while (is_word(reader.at[len]))
            len++;
        if (len > 0) read_word(&reader, reader.at, len);
        if (*reader.at == '{') read_open(&reader);
        if (*reader.at == '}') read_close(&reader);
        if (*reader.at == ';' && reader.depth == 0) {
            if (ends_with(source->path, ".h")) check_comment(&reader);
            reader.statement_begins = true;
        }
        reader.at += len > 0 ? len : 1;
        reader.before = reader.at[-1];
    }
}

/* --- The tree --------------------------------------------------------------------------------- */

static void check_bytes(const char *path, const char *bytes, size_t len, Report *report)
{
    Source source = {.path = path, .bytes = bytes, .len = len, .report = report};
    if (strlen(bytes) != len || !text_is_utf8(bytes, len, NULL)) {
        if (is_c(path)) found(&source, 1, "not UTF-8 text");
        return;
    }
    check_lines(&source);
    if (!is_c(path)) return;
    if (!starts_with(bytes, "/*")) found(&source, 1, "no comment at the top says what it is for");
    if (starts_with(path, "src/") && layer_of(path) < 0) found(&source, 1, "in no layer");
    if (starts_with(path, "src/") && ends_with(path, ".h")) check_guard(&source);
    source.code = make_code(bytes, len);
    check_words(&source);
    free(source.code);
}

/* Check the file or folder `path` below `tree`. */
static bool check_path(const char *tree, const char *path, Report *report, Err *err)
{
    bool ok = false;
    char **names = NULL;
    size_t count = 0;
    Text full = {0};
    Text bytes = {0};
    text_addf(&full, "%s/%s", tree, path);
    if (!os_is_folder(full.bytes)) {
        ok = os_file_read(full.bytes, FILE_BYTES_MAX, &bytes, err);
        if (ok) check_bytes(path, text_string(&bytes), bytes.len, report);
        goto done;
    }
    if (!os_folder_list(full.bytes, "", &names, &count, err)) goto done;
    ok = true;
    for (size_t i = 0; ok && i < count; i++) {
        text_clear(&bytes);
        text_addf(&bytes, "%s/%s", path, names[i]);
        ok = check_path(tree, bytes.bytes, report, err);
    }
done:
    os_names_free(names, count);
    text_clear(&bytes);
    text_clear(&full);
    return ok;
}

static bool check_tree(const char *tree, Report *report, Err *err)
{
    char **names = NULL;
    size_t count = 0;
    if (!os_folder_list(tree, "", &names, &count, err)) return false;
    bool ok = true;
    for (size_t i = 0; ok && i < count; i++) {
        if (find_word(TOP, names[i], strlen(names[i])) < 0) {
            Source top = {.path = names[i], .report = report};
            found(&top, 1, "does not belong at the top of the tree");
        } else if (strcmp(names[i], "build") != 0) {
            ok = check_path(tree, names[i], report, err);
        }
    }
    os_names_free(names, count);
    return ok;
}

/* --- The test of the rules themselves --------------------------------------------------------- */

#define SAID "/* Says what it is for. */\n"
#define GUARD(name, text) SAID "#ifndef " name "\n#define " name "\n" text "\n#endif\n"
#define TEN(line) line line line line line line line line line line
#define LINES_60 TEN("a;\na;\na;\na;\na;\na;\n")
#define LINES_7 "a;\na;\na;\na;\na;\na;\na;\n"

/* A file, and the finding it must give as "line: how the text begins"; NULL: none at all. */
static const struct {
    const char *path;
    const char *bytes;
    const char *want;
} BAD[] = {
    {"NOTES.md", "A note.\n", "1: does not belong at the top"},
    {"README.md", "Clean.\n", NULL},
    {"docs/a.md", "See ../shared/style.md.\n", "1: \"shared/\""},
    {"docs/b.md", "A\nB, see Issue #12\n", "2: \"issue #\""},
    {"docs/c.md",
     "As the seed "
     "document says.\n",
     "1: \"seed "
     "document\""},
    {"docs/d.md",
     "TO"
     "DO: more\n",
     "1: \"TO"
     "DO\""},
    {"docs/e.md",
     "A FIX"
     "ME\n",
     "1: \"FIX"
     "ME\""},
    {"docs/f.md", "mastodon, fixmes, unshared/x, issue 3\n", NULL},
    {"tools/wide", TEN("1234567890") "\n" TEN("1234567890") "1\n", "2: 101 columns"},
    {"tools/wide_enough", TEN("123456789\xC2\xB5") "\n", NULL},
    {"src/nowhere/a.c", SAID, "1: in no layer"},
    {"src/base/silent.c", "int silent(void);\n", "1: no comment at the top"},
    {"src/line/up.c", SAID "#include \"player/a.h\"\n", "2: include \"player/a.h\" is not for"},
    {"src/cli/front.c", SAID "#include \"ui/a.h\"\n", "2: include \"ui/a.h\" is not for"},
    {"src/main.c", SAID "#include \"cli/a.h\"\n#include \"ui/a.h\"\n", NULL},
    {"src/other.c", SAID, "1: in no layer"},
    {"src/line/bare.c", SAID "#include \"belt.h\"\n", "2: include \"belt.h\" does not begin"},
    {"src/line/down.c", SAID "#include \"base/a.h\"\n# include \"line/a.h\"\n", NULL},
    {"src/line/posix.c", SAID "#include <math.h>\n#include <unistd.h>\n",
     "3: <unistd.h> is not C11"},
    {"src/line/sys.c", SAID "#include <sys/stat.h>\n", "2: <sys/stat.h> is not C11"},
    {"src/base/os.c", SAID "#include <unistd.h>\nvoid a(void)\n{\n    getenv(\"A\");\n}\n", NULL},
    {"src/player/json.c", SAID "#include <cjson/cJSON.h>\n", "2: <cjson/cJSON.h> belongs in"},
    {"src/scenario/json.c", SAID "#include <cjson/cJSON.h>\n", NULL},
    {"src/app/a.c", SAID "#include <sqlite3.h>\n", "2: <sqlite3.h> belongs in"},
    {"src/app/b.c", SAID "#include <sodium.h>\n", "2: <sodium.h> belongs in"},
    {"src/ui/place.c", SAID "#include <SDL2/SDL.h>\n", "2: <SDL2/SDL.h> belongs in"},
    {"src/ui/sdl_window.c", SAID "#include <SDL2/SDL.h>\n", NULL},
    {"src/ui/sdl_window.h", GUARD("UI_SDL_WINDOW_H", "#include <SDL.h>"), "4: <SDL.h> belongs in"},
    {"src/line/macro.c", SAID "#include HEADER\n", "2: an include that is spelt by a macro"},
    {"src/line/guard.h", GUARD("GUARD_H", ""), "1: no header guard LINE_GUARD_H"},
    {"src/line/commented.h",
     GUARD("LINE_COMMENTED_H", "typedef int (*Call)(int);\nstruct A {\n    int (*call)(int);\n};\n"
                               "_Static_assert(sizeof(int) > 1, \"\");\n"
                               "/* Says. */\nint a(int x, /* small */\n      int y);\n"
                               "int b(void); /* tail */\nint c(void);\n"
                               "/* Says. */\ntypedef struct {\n    int a;\n} B;\nB d(void);\n"),
     NULL},
    {"src/line/silent.h", GUARD("LINE_SILENT_H", "/* Says. */\n\nint a(void);\n"),
     "6: a public function without"},
    {"src/line/group.h", GUARD("LINE_GROUP_H", "/* Says. */\nint a(void);\n\nint b(void);\n"),
     "7: a public function without"},
    {"src/line/inline.h",
     GUARD("LINE_INLINE_H", "enum { A };\nstatic inline int a(void)\n{\n    return 1;\n}\n"),
     "5: a public function without"},
    {"src/line/copy.c", SAID "void a(char *b)\n{\n    strcpy (b, b);\n}\n", "4: strcpy is banned"},
    {"src/line/random.c", SAID "int a(void)\n{\n    return rand();\n}\n", "4: rand is banned"},
    {"tests/scan.c", SAID "int a(void)\n{\n    return sscanf(\"\", \"\");\n}\n", "4: sscanf is"},
    {"src/line/clock.c", SAID "long a(void)\n{\n    return time(NULL);\n}\n", "4: time belongs in"},
    {"src/line/said.c",
     SAID "/* strcpy(a, b) */\n// rand()\nconst char *const A = \"atoi(\\\"x\\\")\";\n", NULL},
    {"src/line/member.c", SAID "void a(A *b)\n{\n    b->time(b->rand);\n    b->c.clock();\n}\n",
     NULL},
    {"src/line/switch.c",
     SAID "void a(A b)\n{\n    switch (b) {\n    case A_ONE:\n        break;\n    default:\n"
          "        break;\n    }\n}\n",
     "7: default in a switch"},
    {"src/line/letters.c",
     SAID "void a(int b)\n{\n    switch (b) {\n    case 'A':\n        break;\n    default:\n"
          "        break;\n    }\n}\n",
     NULL},
    {"src/line/label.c", SAID "void a(void)\n{\n    goto fail;\nfail:\n    return;\n}\n",
     "4: a label other than done"},
    {"src/line/long.c", SAID "\nint a(void)\n{\n" LINES_60 LINES_7 "a;\n}\n",
     "3: a function of 71"},
    {"src/line/long_enough.c", SAID "int a(void)\n{\n" LINES_60 LINES_7 "}\n", NULL},
    {"src/line/static.c", SAID "static int count = 0;\n", "2: a variable of the file"},
    {"src/line/global.c", SAID "const char *name;\n", "2: a variable of the file"},
    {"src/line/short.c", SAID "static int s;\n", "2: a variable of the file"},
    {"src/line/struct.c", SAID "static struct {\n    int a;\n} state;\n",
     "2: a variable of the file"},
    {"src/line/pointer.c", SAID "static void (*call)(int);\n", "2: a variable of the file"},
    {"src/line/local.c", SAID "int a(void)\n{\n    static int count;\n    return count++;\n}\n",
     "4: a static that can change"},
    {"src/line/constant.c",
     SAID
     "typedef struct {\n    int a;\n} A;\nstruct B;\nstruct C {\n    int a;\n};\nenum { D, E };\n"
     "static const A X[] = {{1}};\nstatic const char *const Y[2] = {\"a\", \"b\"};\n"
     "static int f(int a);\nstatic int f(int a)\n{\n    static const int B = 1;\n    return a;\n"
     "}\nstatic void (*const call)(int) = f;\nstatic const struct {\n    int *a;\n} Z = {0};\n",
     NULL},
    {"tests/counting.c", SAID "static int count;\n", NULL},
    {"src/line/latin.c", SAID "/* \xE9 */\n", "1: not UTF-8"},
};

static bool write_bad(const char *tree, Err *err)
{
    bool ok = true;
    Text path = {0};
    for (size_t i = 0; ok && i < sizeof BAD / sizeof BAD[0]; i++) {
        text_clear(&path);
        text_addf(&path, "%s/%s", tree, BAD[i].path);
        char *slash = strrchr(path.bytes, '/');
        *slash = '\0';
        ok = os_folder_make(path.bytes, err);
        *slash = '/';
        ok = ok && os_file_write(path.bytes, BAD[i].bytes, strlen(BAD[i].bytes), err);
    }
    text_clear(&path);
    return ok;
}

/* Every row's finding is in the report, and the report has no other. */
static int compare(const Report *report)
{
    int wanted = 0;
    int missing = 0;
    Text line = {0};
    for (size_t i = 0; i < sizeof BAD / sizeof BAD[0]; i++) {
        if (BAD[i].want == NULL) continue;
        wanted++;
        text_clear(&line);
        text_addf(&line, "%s:%s", BAD[i].path, BAD[i].want);
        if (strstr(text_string(&report->text), line.bytes) != NULL) continue;
        (void)printf("not found: %s\n", line.bytes);
        missing++;
    }
    text_clear(&line);
    if (missing == 0 && report->count == wanted) return EXIT_SUCCESS;
    (void)printf("%d findings, wanted %d:\n%s", report->count, wanted, text_string(&report->text));
    return EXIT_FAILURE;
}

int main(int argc, char **argv)
{
    Err err = {0};
    Report report = {0};
    bool is_self_test = argc == 3 && strcmp(argv[1], "--self-test") == 0;
    if (argc != 2 && !is_self_test) {
        (void)fputs("usage: tidy TREE | tidy --self-test FOLDER\n", stderr);
        return 2;
    }
    const char *tree = argv[argc - 1];
    int status = 2;
    if ((is_self_test && !write_bad(tree, &err)) || !check_tree(tree, &report, &err)) {
        (void)fprintf(stderr, "tidy: %s\n", err.text);
    } else if (is_self_test) {
        status = compare(&report);
    } else {
        (void)fputs(text_string(&report.text), stdout);
        status = report.count == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
    }
    text_clear(&report.text);
    return status;
}
