/* check_host.c - plugins that load, plugins that must not, and the words said about them. */
#include <dirent.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "heatledger/catalogue.h"
#include "story.h"

static const char bad_folder[] = HL_TEST_BUILD "/tests/bad";
static const char sound[] = HL_TEST_BUILD "/tests/bad/sound.so";

/* -------------------------------------------------------------- scaffolding -- */

typedef struct scene {
    char folder[256]; /* a fresh private folder */
    hl_host *host;
    hl_diagnostics *said;
} scene;

static scene begin(void)
{
    scene s = {HL_TEST_BUILD "/tests/plugins.XXXXXX", hl_host_create(), hl_diagnostics_create()};
    ck_assert_ptr_nonnull(mkdtemp(s.folder));
    ck_assert(s.host && s.said);
    return s;
}

static void end(scene *s)
{
    hl_host_destroy(s->host);
    hl_diagnostics_destroy(s->said);
    chmod(s->folder, 0700);
    DIR *folder = opendir(s->folder);
    for (struct dirent *item; folder && (item = readdir(folder));) unlinkat(dirfd(folder), item->d_name, 0);
    if (folder) closedir(folder);
    rmdir(s->folder);
}

static const char *copy_into(const scene *s, const char *from, const char *name, char path[512])
{
    snprintf(path, 512, "%s/%s", s->folder, name);
    FILE *in = fopen(from, "rb"), *out = fopen(path, "wb");
    ck_assert(in && out);
    char buffer[65536];
    for (size_t n; (n = fread(buffer, 1, sizeof buffer, in)) > 0;) ck_assert(fwrite(buffer, 1, n, out) == n);
    fclose(in);
    fclose(out);
    chmod(path, 0644);
    return path;
}

static const char *write_into(const scene *s, const char *text, const char *name, char path[512])
{
    snprintf(path, 512, "%s/%s", s->folder, name);
    FILE *out = fopen(path, "wb");
    ck_assert_ptr_nonnull(out);
    fputs(text, out);
    fclose(out);
    chmod(path, 0644);
    return path;
}

static bool was_said(const hl_diagnostics *said, const char *part)
{
    for (size_t i = 0; i < hl_diagnostics_count(said); i++)
        if (strstr(hl_diagnostics_text(said, i), part)) return true;
    return false;
}

static void expect_said(const scene *s, const char *part)
{
    size_t n = hl_diagnostics_count(s->said);
    ck_assert_msg(was_said(s->said, part), "expected '%s', said '%s'", part,
                  n ? hl_diagnostics_text(s->said, 0) : "nothing");
}

/* ---------------------------------------------------------- what must load -- */

START_TEST(sound_plugin_loads_and_is_found)
{
    scene s = begin();
    ck_assert_int_eq(hl_host_load(s.host, sound, s.said), HL_OK);
    ck_assert_uint_eq(hl_diagnostics_count(s.said), 0);
    ck_assert_uint_eq(hl_host_models(s.host), 2);
    ck_assert_str_eq(hl_host_model(s.host, 0)->name, "plain_resistor");
    ck_assert_str_eq(hl_host_model(s.host, 1)->name, "plain_wire");
    ck_assert_ptr_null(hl_host_model(s.host, 2));
    ck_assert_ptr_null(hl_host_model_file(s.host, 2));
    ck_assert_ptr_nonnull(strstr(hl_host_model_file(s.host, 0), "sound.so"));
    ck_assert_ptr_eq(hl_host_find(s.host, "plain_wire"), hl_host_model(s.host, 1));
    ck_assert_ptr_null(hl_host_find(s.host, "plain_wires"));
    ck_assert_str_eq(hl_host_nearest(s.host, "plain_resister"), "plain_resistor");
    ck_assert_ptr_null(hl_host_nearest(s.host, "zzzzzzzzzzzzzzzz"));
    end(&s);
}
END_TEST

START_TEST(empty_host_answers)
{
    scene s = begin();
    ck_assert_uint_eq(hl_host_models(s.host), 0);
    ck_assert_ptr_null(hl_host_model(s.host, 0));
    ck_assert_ptr_null(hl_host_find(s.host, "anything"));
    ck_assert_ptr_null(hl_host_nearest(s.host, "anything"));
    hl_host_destroy(NULL);
    end(&s);
}
END_TEST

/* Two hosts live side by side; the first to go does not take the other's models along. */
START_TEST(hosts_are_independent)
{
    scene a = begin(), b = begin();
    ck_assert_int_eq(hl_host_load(a.host, sound, a.said), HL_OK);
    ck_assert_int_eq(hl_host_load(b.host, sound, b.said), HL_OK);
    end(&a);
    ck_assert_str_eq(hl_host_find(b.host, "plain_wire")->title, "wire");
    end(&b);
}
END_TEST

/* Rows of a plugin built against a newer header are longer than ours. */
START_TEST(rows_are_counted_in_the_plugins_own_size)
{
    struct longer_parameter {
        hl_parameter known;
        double unknown[3];
    } rows[2] = {{.known = {.name = "first"}}, {.known = {.name = "second"}}};
    hl_model model = {.parameters = &rows[0].known, .n_parameters = 2, .parameter_size = sizeof rows[0]};
    ck_assert_str_eq(hl_model_parameter(&model, 1)->name, "second");
    ck_assert_ptr_null(hl_model_parameter(&model, 2));
    struct longer_slot {
        hl_slot known;
        void *unknown;
    } slots[2] = {{.known = {.name = "one"}}, {.known = {.name = "two"}}};
    hl_stage stage = {.slots = &slots[0].known, .n_slots = 2, .slot_size = sizeof slots[0]};
    ck_assert_str_eq(hl_stage_slot(&stage, 1)->name, "two");
    ck_assert_ptr_null(hl_stage_slot(&stage, 2));
}
END_TEST

/* ------------------------------------------------------ what must be refused -- */

typedef struct refusal {
    const char *file, *said;
} refusal;

static const refusal refusals[] = {
    /* clang-format off */
    {"both_device_and_stage",       "model 'plain_resistor': both of device and stage set; exactly one must be"},
    {"capacitor_without_impedance", "model 'plain_resistor': no function 'impedance'"},
    {"capital_name",                "model 1: the name 'PlainResistor' is not lower case words joined by _"},
    {"capital_parameter",           "model 'plain_resistor': parameter 1: the name 'On resistance' is not lower case"},
    {"capital_kind",                "slot 'resistor': kind 'Fuse' is not lower case words joined by _"},
    {"choice_default_outside",      "parameter 'kind': its default 2 is not the index of one of its 2 choices"},
    {"choice_without_choices",      "parameter 'kind': no choices listed"},
    {"curve_without_x",             "parameter 'resistance': x_dimension '' is not a unit"},
    {"default_outside_range",       "parameter 'resistance': its default 50 is outside its own range 0 to 1"},
    {"empty_kinds",                 "its device: its list of kinds is empty or has no end"},
    {"neither_device_nor_stage",    "model 'plain_resistor': none of device and stage set"},
    {"no_licence",                  "name, version, author and licence of its table must all be given"},
    {"no_loss",                     "model 'plain_resistor': no function 'loss'"},
    {"no_model_source",             "model 'plain_resistor': no source; say which book"},
    {"no_parameter_source",         "parameter 'resistance': no source; say where"},
    {"no_solve",                    "model 'plain_wire': no function 'solve'"},
    {"no_table",                    "no symbol 'hl_plugin_table' in it, so it is not a plugin"},
    {"null_model",                  "model 2 of its table is NULL"},
    {"other_abi",                   "it speaks plugin ABI 2, this program 1"},
    {"range_not_a_number",          "parameter 'resistance': the plausible range runs from nan to 1"},
    {"range_upside_down",           "parameter 'resistance': the plausible range runs from 10 to 1"},
    {"required_and_default",        "parameter 'resistance': flags 0x3"},
    {"slot_without_family",         "slot 'resistor': families 0"},
    {"slot_without_position",       "slot 'resistor': stands for 0 positions"},
    {"truncated_device",            "struct_size of its device is"},
    {"truncated_model",             "model 1: struct_size is"},
    {"truncated_parameter",         "parameter_size is 8, at least"},
    {"truncated_slot",              "slot_size is 4, at least"},
    {"truncated_stage",             "struct_size of its stage is"},
    {"truncated_table",             "struct_size of its table is"},
    {"twin_models",                 "model 'plain_resistor' stands twice in its table"},
    {"twin_parameters",             "parameter 'resistance' stands twice in its table"},
    {"twin_slots",                  "slot 'resistor' stands twice"},
    {"unknown_family",              "model 'plain_resistor': family 77 is unknown"},
    {"unknown_kind",                "parameter 'resistance': kind 9 is unknown"},
    {"unknown_unit",                "parameter 'resistance': dimension 'blorp' is not a unit"},
    {"unresolved_symbol",           "undefined symbol: function_nobody_provides"},
    {"zero_table",                  "struct_size of its table is 0"},
    /* clang-format on */
};
enum { REFUSALS = sizeof refusals / sizeof *refusals };

START_TEST(bad_plugin_is_refused_with_its_one_reason)
{
    scene s = begin();
    char path[512];
    snprintf(path, sizeof path, "%s/%s.so", bad_folder, refusals[_i].file);
    ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_NO_PLUGIN);
    expect_said(&s, refusals[_i].said);
    expect_said(&s, path); /* it is named */
    ck_assert_uint_eq(hl_diagnostics_count(s.said), 1);
    ck_assert_uint_eq(hl_diagnostics_errors(s.said), 1);
    ck_assert_uint_eq(hl_host_models(s.host), 0);
    /* and the next one goes on */
    ck_assert_int_eq(hl_host_load(s.host, sound, s.said), HL_OK);
    end(&s);
}
END_TEST

/* Nobody may add a bad plugin and forget to say why it is bad. */
START_TEST(every_bad_plugin_is_in_the_table)
{
    DIR *folder = opendir(bad_folder);
    ck_assert_ptr_nonnull(folder);
    size_t n = 0;
    for (struct dirent *item; (item = readdir(folder));)
        if (strstr(item->d_name, ".so")) n++;
    closedir(folder);
    ck_assert_uint_eq(n, REFUSALS + 2); /* sound.so, taken_name.so */
}
END_TEST

START_TEST(second_model_of_a_name_is_refused_and_both_files_are_named)
{
    scene s = begin();
    char path[512];
    snprintf(path, sizeof path, "%s/taken_name.so", bad_folder);
    ck_assert_int_eq(hl_host_load(s.host, sound, s.said), HL_OK);
    ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_NO_PLUGIN);
    expect_said(&s, "taken_name.so: not loaded: model 'plain_resistor' is already provided by ");
    expect_said(&s, "sound.so; rename one of them");
    ck_assert_uint_eq(hl_host_models(s.host), 2);
    end(&s);
}
END_TEST

/* The system loader's own words, not libltdl's "file not found". */
START_TEST(files_that_are_no_shared_objects_say_so)
{
    scene s = begin();
    char path[512];
    ck_assert_int_eq(
        hl_host_load(
            s.host,
            write_into(
                &s, "This is a text file, longer than the header of a shared object, and no plugin at all.\n",
                "text.so", path),
            s.said),
        HL_NO_PLUGIN);
    expect_said(&s, "invalid ELF header");
    ck_assert_int_eq(hl_host_load(s.host, write_into(&s, "", "empty.so", path), s.said), HL_NO_PLUGIN);
    expect_said(&s, "file too short");
    ck_assert_int_eq(hl_host_load(s.host, write_into(&s, "dlname='x'\n", "script.la", path), s.said),
                     HL_NO_PLUGIN);
    expect_said(&s, "a plugin is a shared object named *.so");
    ck_assert_int_eq(hl_host_load(s.host, "/nowhere/at_all.so", s.said), HL_NO_FILE);
    expect_said(&s, "/nowhere/at_all.so: not loaded: No such file or directory");
    ck_assert_int_eq(hl_host_load(s.host, s.folder, s.said), HL_NO_PLUGIN);
    end(&s);
}
END_TEST

START_TEST(missing_diagnostics_are_no_reason_to_crash)
{
    scene s = begin();
    ck_assert_int_eq(hl_host_load(s.host, "/nowhere/at_all.so", NULL), HL_NO_FILE);
    ck_assert_int_eq(hl_host_load(s.host, HL_TEST_BUILD "/tests/bad/other_abi.so", NULL), HL_NO_PLUGIN);
    end(&s);
}
END_TEST

/* ---------------------------------------------------------------- who wrote -- */

START_TEST(writable_file_or_folder_is_refused)
{
    scene s = begin();
    char path[512];
    copy_into(&s, sound, "loose.so", path);
    chmod(path, 0666);
    ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_NO_PLUGIN);
    expect_said(&s, "everybody may write the file");
    chmod(path, 0644);
    chmod(s.folder, 0777);
    ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_NO_PLUGIN);
    expect_said(&s, "everybody may write the folder");
    chmod(s.folder, 01777); /* the sticky bit does not stop others from adding a plugin */
    ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_NO_PLUGIN);
    chmod(s.folder, 0755);
    ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_OK);
    end(&s);
}
END_TEST

/* Whoever may rename the folder of a plugin may put another in its place; the sticky bit stops that. */
START_TEST(folder_above_that_everybody_may_rename_in_is_refused)
{
    scene s = begin();
    char path[512], inner[512];
    snprintf(inner, sizeof inner, "%s/inner", s.folder);
    ck_assert_int_eq(mkdir(inner, 0755), 0);
    copy_into(&s, sound, "inner/x.so", path);
    chmod(s.folder, 0777);
    ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_NO_PLUGIN);
    expect_said(&s, "everybody may rename what is in");
    chmod(s.folder, 01777);
    ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_OK);
    chmod(s.folder, 0755);
    hl_host_destroy(s.host);
    s.host = NULL;
    unlink(path);
    rmdir(inner);
    end(&s);
}
END_TEST

/* Needs the right to give files away; says so where it is missing. */
START_TEST(file_of_another_user_or_group_is_refused)
{
    scene s = begin();
    char path[512];
    copy_into(&s, sound, "given.so", path);
    if (chown(path, (uid_t)-1, 65533) == 0) {
        chmod(path, 0664);
        ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_NO_PLUGIN);
        expect_said(&s, "others of its group may write the file");
        chmod(path, 0644);
    } else
        fprintf(stderr, "not allowed to change the group of a file; that half is skipped\n");
    if (geteuid() == 0 && chown(path, 65533, (gid_t)-1) == 0) {
        ck_assert_int_eq(hl_host_load(s.host, path, s.said), HL_NO_PLUGIN);
        expect_said(&s, "belongs to another user (id 65533)");
    } else
        fprintf(stderr, "not allowed to give a file away; that half is skipped\n");
    end(&s);
}
END_TEST

/* A link is followed to what it points at, so a link cannot dress up a loose file. */
START_TEST(link_to_a_loose_file_is_refused)
{
    scene s = begin();
    char path[512], link_path[512];
    copy_into(&s, sound, "loose.so", path);
    chmod(path, 0666);
    snprintf(link_path, sizeof link_path, "%s/link.so", s.folder);
    ck_assert_int_eq(symlink(path, link_path), 0);
    ck_assert_int_eq(hl_host_load(s.host, link_path, s.said), HL_NO_PLUGIN);
    expect_said(&s, "everybody may write the file");
    end(&s);
}
END_TEST

/* A path the user names may be relative; it is never searched for. */
START_TEST(named_relative_path_loads)
{
    scene s = begin();
    char path[512], here[512];
    ck_assert_ptr_nonnull(getcwd(here, sizeof here));
    copy_into(&s, sound, "near.so", path);
    ck_assert_int_eq(chdir(s.folder), 0);
    ck_assert_int_eq(hl_host_load(s.host, "near.so", s.said), HL_OK);
    ck_assert_int_eq(chdir(here), 0);
    ck_assert(hl_host_model_file(s.host, 0)[0] == '/');
    end(&s);
}
END_TEST

/* ----------------------------------------------------------------- folders -- */

START_TEST(folder_goes_on_past_bad_plugins)
{
    scene s = begin();
    char path[512];
    copy_into(&s, HL_TEST_BUILD "/tests/bad/other_abi.so", "a.so", path);
    copy_into(&s, sound, "b.so", path);
    copy_into(&s, sound, "c.so", path);
    write_into(&s, "readme", "README", path);
    write_into(&s, "hidden", ".hidden.so", path);
    ck_assert_int_eq(hl_host_load_folder(s.host, s.folder, s.said), HL_OK);
    ck_assert_uint_eq(hl_host_models(s.host), 2);
    ck_assert_ptr_nonnull(strstr(hl_host_model_file(s.host, 0), "/b.so")); /* name order */
    ck_assert_uint_eq(hl_diagnostics_errors(s.said), 0);
    expect_said(&s, "a.so: not loaded: it speaks plugin ABI 2");
    expect_said(&s, "c.so: not loaded: model 'plain_resistor' is already provided by");
    end(&s);
}
END_TEST

START_TEST(missing_folder_is_an_error)
{
    scene s = begin();
    ck_assert_int_eq(hl_host_load_folder(s.host, "/nowhere/at/all", s.said), HL_NO_FILE);
    expect_said(&s, "/nowhere/at/all: cannot be searched for plugins: No such file or directory");
    end(&s);
}
END_TEST

START_TEST(shipped_folders_come_from_the_environment)
{
    scene s = begin(), other = begin();
    char path[512], list[1024];
    snprintf(list, sizeof list, "%s:%s", s.folder, other.folder);
    setenv("HEATLEDGER_PLUGINS", list, 1);
    ck_assert_int_eq(hl_host_load_shipped(s.host, s.said), HL_NO_PLUGIN); /* both empty */
    expect_said(&s, "no plugin could be loaded from there");
    ck_assert_uint_eq(hl_diagnostics_errors(s.said), 1);
    copy_into(&other, sound, "x.so", path);
    ck_assert_int_eq(hl_host_load_shipped(s.host, s.said), HL_OK);
    ck_assert_uint_eq(hl_host_models(s.host), 2);
    end(&other);
    end(&s);
}
END_TEST

START_TEST(working_folder_is_never_searched)
{
    static const char *const lists[] = {".", "plugins", ":",
                                        HL_TEST_BUILD "/tests/nowhere:", "../x:/nowhere"};
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        scene s = begin();
        char path[512], here[512];
        ck_assert_ptr_nonnull(getcwd(here, sizeof here));
        copy_into(&s, sound, "x.so", path);
        ck_assert_int_eq(chdir(s.folder), 0);
        setenv("HEATLEDGER_PLUGINS", lists[i], 1);
        ck_assert_msg(hl_host_load_shipped(s.host, s.said) != HL_OK, "HEATLEDGER_PLUGINS='%s' passed",
                      lists[i]);
        ck_assert_uint_eq(hl_host_models(s.host), 0);
        ck_assert(hl_diagnostics_errors(s.said) > 0);
        ck_assert_int_eq(chdir(here), 0);
        end(&s);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, sound_plugin_loads_and_is_found);
    tcase_add_test(tests, empty_host_answers);
    tcase_add_test(tests, hosts_are_independent);
    tcase_add_test(tests, rows_are_counted_in_the_plugins_own_size);
    tcase_add_loop_test(tests, bad_plugin_is_refused_with_its_one_reason, 0, REFUSALS);
    tcase_add_test(tests, every_bad_plugin_is_in_the_table);
    tcase_add_test(tests, second_model_of_a_name_is_refused_and_both_files_are_named);
    tcase_add_test(tests, files_that_are_no_shared_objects_say_so);
    tcase_add_test(tests, missing_diagnostics_are_no_reason_to_crash);
    tcase_add_test(tests, writable_file_or_folder_is_refused);
    tcase_add_test(tests, folder_above_that_everybody_may_rename_in_is_refused);
    tcase_add_test(tests, file_of_another_user_or_group_is_refused);
    tcase_add_test(tests, link_to_a_loose_file_is_refused);
    tcase_add_test(tests, named_relative_path_loads);
    tcase_add_test(tests, folder_goes_on_past_bad_plugins);
    tcase_add_test(tests, missing_folder_is_an_error);
    tcase_add_test(tests, shipped_folders_come_from_the_environment);
    tcase_add_test(tests, working_folder_is_never_searched);
}

int main(void)
{
    return story_main("host", fill);
}
