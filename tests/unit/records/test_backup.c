/* Backups: made while the store is in use, whole, and good to go on from. */
#include "bundles.h"

#include <sys/stat.h>

#include "records/backup.h"

static Text backup_folder(const Site *site)
{
    Text folder = {0};
    text_addf(&folder, "%s-backup", site->folder.bytes);
    return folder;
}

static int mode_of(const Text *folder, const char *name)
{
    struct stat info;
    Text path = path_in(folder, name);
    assert_int_equal(stat(path.bytes, &info), 0);
    text_clear(&path);
    return (int)(info.st_mode & 0777);
}

static void test_backup_is_restored(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    Records *other = NULL;
    Text heads = {0};
    Text secret = {0};
    bool found = false;
    new_site(&home);
    new_folder(&heads);
    site_open(&home, REC_WRITE, heads.bytes);
    text_add(&secret, "a sealed key");
    assert_ok(rec_secret_write(home.records, home.ids[SUE], "pin", &secret, &err));
    (void)site_run(&home, ROSA, "a log from home, long enough", 2);
    RecOutside outside = fake_clock(&home.fake);
    assert_ok(rec_open(home.folder.bytes, REC_READ, "0.1.0", &outside, &other, &err)); /* in use */
    Text folder = backup_folder(&home);
    assert_ok(rec_backup(home.records, folder.bytes, &err));
    assert_false(rec_backup(home.records, folder.bytes, &err)); /* there already */
    assert_int_equal(err.code, ERR_IO);
    assert_clean(&folder);
    assert_int_equal(mode_of(&folder, ""), 0700);
    assert_int_equal(mode_of(&folder, "station.key"), 0600);
    Text before = facts_of(&home);

    /* The store goes on, is lost, and the copy is put in its place. */
    (void)site_run(&home, ROSA, "a log that is lost with the disk", 4);
    rec_close(other);
    rec_close(home.records);
    home.records = NULL;
    Site lost = home;
    home.folder = folder;
    assert_ok(rec_open(home.folder.bytes, REC_READ, "0.1.0", NULL, &home.records, &err));
    Text after = facts_of(&home);
    assert_string_equal(before.bytes, after.bytes);
    Text there = {0};
    assert_ok(rec_secret_read(home.records, home.ids[SUE], "pin", &there, &found, &err));
    assert_string_equal(there.bytes, secret.bytes);
    site_open(&home, REC_WRITE, heads.bytes);
    RecNumber last = count_of(&home);
    Text bytes = facts_of(&home);
    assert_non_null(strstr(bytes.bytes, " restore station "));
    (void)site_run(&home, ROSA, "a log after the disk was put back", 6);
    assert_int_equal(count_of(&home), last + 1);
    text_clear(&bytes);
    text_clear(&there);
    text_clear(&after);
    text_clear(&before);
    text_clear(&secret);
    end_site(&home);
    remove_folder(&lost.folder);
    char **names = NULL;
    size_t count = 0;
    assert_ok(os_folder_list(heads.bytes, "", &names, &count, &err));
    for (size_t i = 0; i < count; i++) {
        remove_file(&heads, names[i]);
    }
    os_names_free(names, count);
    remove_folder(&heads);
}

/* What is not whole gets no name. */
static void test_backup_of_damage(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    new_site(&home);
    raw_sql(&home.folder, "DELETE FROM fact WHERE number = 14");
    Text folder = backup_folder(&home);
    assert_false(rec_backup(home.records, folder.bytes, &err));
    assert_int_equal(err.code, ERR_DAMAGE);
    assert_non_null(strstr(err.text, "entry 14"));
    assert_false(os_is_folder(folder.bytes));
    assert_ok(rec_views_rebuild(home.records, &err));
    /* One that was cut short before is in nobody's way, but a folder of others is. */
    Text aside = {0};
    text_addf(&aside, "%s.new", folder.bytes);
    assert_ok(os_folder_make(aside.bytes, &err));
    char torn[] = "torn";
    const Text some = {.bytes = torn, .len = 4};
    write_file(&aside, "store.db", &some);
    write_file(&aside, "letter", &some);
    assert_false(rec_backup(home.records, folder.bytes, &err));
    remove_file(&aside, "letter");
    assert_ok(rec_backup(home.records, folder.bytes, &err));
    assert_clean(&folder);
    remove_folder(&folder);
    text_clear(&aside);
    assert_false(rec_backup(home.records, "/proc/none", &err));
    assert_int_equal(err.code, ERR_IO);
    end_site(&home);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_backup_is_restored),
        cmocka_unit_test(test_backup_of_damage),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
