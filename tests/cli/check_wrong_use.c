/* check_wrong_use.c - each command called wrongly, each in one way: the exit code and what is said; and
 * output that cannot be written is told, never lost in silence. */
#include <string.h>

#include "command_run.h"
#include "scratch_folder.h"
#include "story.h"

/* A line of a shell whose folder holds module.lua, parts.yaml, plan.lua, readings.yaml, big.lua and sink.lua;
 * `h` is the command. */
static const struct {
    const char *line;
    int code;
    const char *words; /* of what is said, on either way out */
} cases[] = {
    /* the command itself */
    {"h", 1, "usage: heatledger COMMAND"},
    {"h --help", 0, "`heatledger COMMAND --help` tells more"},
    {"h help spread", 0, "--quantiles LIST"},
    {"h help spred", 1, "no command 'spred'; did you mean 'spread'?"},
    {"h zzzzzzzzz", 1, "no command 'zzzzzzzzz'; `heatledger --help` lists them"},
    {"h --completion fish", 1, "--completion wants the shell's name, bash or zsh"},
    {"h --completion", 1, "--completion wants the shell's name, bash or zsh"},
    {"h --manual-page zzzz", 1, "no command 'zzzz'"},
    {"h --manual-page spread | head -1", 0, "TH"},
    {"h solve", 1, "heatledger solve: name a script"},
    {"h solve parts.yaml", 1, "parts.yaml: this is a file of parts or readings, not a script"},
    {"h solve module.lua more", 1, "'more' is one word too many"},
    {"h solve module.lua --jsn", 1, "no option '--jsn'; did you mean '--json'?"},
    {"h solve module.lua --zzzzzzz", 1, "no option '--zzzzzzz'; `heatledger solve --help` lists them"},
    {"h solve module.lua --json=yes", 1, "'--json' takes no value; leave '=yes' out"},
    {"h solve module.lua --json --csv", 1, "heatledger solve: --json and --csv exclude each other; give one"},
    {"h parts --csv --json", 1, "heatledger parts: --json and --csv exclude each other"},
    {"h solve module.lua --set", 1, "'--set' wants a value after it"},
    {"h solve module.lua --set load", 1, "load"},
    {"h solve module.lua --bands middling", 1, "middling"},
    {"h solve module.lua --network wires", 1, "--network: 'wires' is no network: rule"},
    {"h solve module.lua --plugins /nowhere", 1, "/nowhere"},
    {"h solve module.lua --plugins /nowhere.so", 1, "/nowhere.so"},
    {"mkdir none; h solve module.lua --plugins none", 1, "none: no plugin (*.so) is in this folder"},
    {"mkdir bad; echo >bad/a.so; h solve module.lua --plugins bad", 1,
     "bad: no plugin could be loaded from there: bad/a.so"},
    {"h solve nowhere.lua", 1, "nowhere.lua"},
    {"sed /^return/d module.lua >none.lua; h solve none.lua", 1, "none.lua: the script returns no adapter"},
    {"sed s/part.polymer/part.zzzzzzz/ module.lua >other.lua; h solve other.lua", 1,
     "no part is named 'zzzzzzz'; known: ceramic, inductor_a, "},
    {"sed '/ size:/d' parts.yaml >bare.yaml; sed s/parts.yaml/bare.yaml/ module.lua >bare.lua; h solve "
     "bare.lua",
     0,
     "warning: no size is stated of buck.high_switch, buck.low_switch, buck.inductor, buck.output; taken as "
     "bodies of 5 x 5 x 2 mm"},
    {"sed 's/\\(inductor\" { at = [^,]*\\)/\\1, size = \"9 x 9 x 5 mm\"/' bare.lua >half.lua; h solve "
     "half.lua",
     0, "no size is stated of buck.high_switch, buck.low_switch, buck.output; taken"},
    {"h solve module.lua 2>&1 | grep -c 'no size is stated'", 1, "0\n"},
    {"h solve big.lua", 0,
     "warning: big.lua:5: box size: a side of 880 mm is outside 10 … 400 mm; did you mean 88 x 60 x 31 mm?"},
    {"h solve big.lua", 0, "warning: big.lua:6: board m: its thinnest side is 16 mm, and boards are 0.2"},
    {"h solve sink.lua", 0,
     "warning: sink.lua:9: the network by rule counts spreaders only where they lie on a wall and leaves "
     "others out (plate)"},
    {"sed '/^return/s/^/module:spreader \"p\" { low = \"5 x 5 x 15 mm\", high = \"9 x 9 x 16 mm\" } /' "
     "module.lua "
     ">foil.lua; h solve foil.lua --set source.voltage='11 V' --set out.voltage='20 V'",
     3, "the network by rule counts spreaders only where they lie on a wall and leaves others out (p)"},
    {"h solve sink.lua --network field", 1,
     "sink.lua:6: with network = \"field\" there are no nodes by hand"},
    {"h solve sink.lua --network field 2>&1 | wc -l | sed 's/^/lines: /'", 0, "lines: 1\n"},
    /* spread */
    {"h spread module.lua --samples many", 1, "--samples: 'many' is no whole number up to 10000000"},
    {"h spread module.lua --samples 99999999999", 1, "is no whole number up to 10000000"},
    {"h spread module.lua --seed -1", 1, "--seed: '-1' is no whole number"},
    {"h spread module.lua --workers 1025", 1, "--workers: '1025' is no whole number up to 1024"},
    {"h spread module.lua --totals x", 1, "--totals: 'x' is no whole number up to 1000000"},
    {"h spread module.lua --quantiles 5,101", 1, "--quantiles: up to 5 numbers from 0 to 100"},
    {"h spread module.lua --quantiles half", 1, "--quantiles: up to 5 numbers from 0 to 100"},
    {"h spread module.lua --quantiles 1,2,3,4,5,6", 1, "--quantiles: up to 5 numbers from 0 to 100"},
    {"h spread module.lua --set switch_a.on_resistance='3 mohm'", 1,
     "--set: part 'switch_a' stands at 'buck.high_switch'; set 'buck.high_switch.on_resistance'\n"
     "--set: part 'switch_a' stands at 'buck.low_switch'; set 'buck.low_switch.on_resistance'\n"},
    {"h spread module.lua --about efficency", 1, "no figure 'efficency'; did you mean 'efficiency'?"},
    {"h spread module.lua --about zzzzzzzz", 1, "no figure 'zzzzzzzz'"},
    {"h spread module.lua --set source.voltage='11 V' --set out.voltage='20 V'", 3,
     "no solution at the central point"},
    {"h spread module.lua --samples 0 --totals 0 --quantiles 50 --workers 1 --quiet", 0, "efficiency"},
    {"h spread module.lua --samples 4 --totals 0 --workers 1 >/dev/full", 1, "No space left"},
    {"h spread module.lua --samples 4 --totals 0 --workers 1 --json >/dev/full", 1, "No space left"},
    /* fit */
    {"h fit module.lua", 1, "name one script and one file of readings"},
    {"h fit module.lua readings.yaml more.yaml", 1, "name one script and one file of readings"},
    {"h fit module.lua nowhere.yaml", 1, "nowhere.yaml"},
    {"h fit module.lua readings.yaml", 0, "it lies at its bound"},
    {"h fit module.lua readings.yaml", 0, "\n1 free value, 4 readings at 1 point\n"},
    {"h fit module.lua readings.yaml --strict", 2, "disagrees"},
    {"h fit module.lua readings.yaml --csv", 0, "\"full\",\"input power\",W,49,0.1"},
    {"h fit module.lua readings.yaml --json >/dev/full", 1, "could not be written"},
    {"h fit module.lua readings.yaml >/dev/full", 1, "could not be written"},
    {"h fit module.lua readings.yaml --overlay /nowhere/over.yaml", 1, "/nowhere/over.yaml"},
    {"h fit module.lua readings.yaml --set source.voltage='11 V' --set out.voltage='20 V'", 3, "full"},
    /* sweep and merge */
    {"h sweep plan.lua", 1, "heatledger sweep: name a store: --store FILE"},
    {"h sweep module.lua --store a.store", 1, "states no plan; end the script with: return hl.sweep { ... }"},
    {"sed s/axes/axis/ plan.lua >axis.lua; h sweep axis.lua --store a.store", 1,
     "axis.lua: sweep: 'axis' means nothing here; did you mean 'axes'?"},
    {"sed 's/figures =/keep = { best = 3 }, figures =/' plan.lua >best.lua; h sweep best.lua --store a.store",
     1, "best.lua: keep: best by what? Name a figure"},
    {"h sweep plan.lua --store a.store --workers 0", 1, "--workers 0: give 1 to 1024"},
    {"h sweep plan.lua --store a.store --workers 1025", 1, "--workers 1025: give 1 to 1024"},
    {"h sweep plan.lua --store a.store --workers two", 1, "--workers two: give 1 to 1024"},
    {"h sweep plan.lua --store a.store --workers 2x", 1, "--workers 2x: give 1 to 1024"},
    {"h sweep plan.lua --store a.store --shard 3", 1, "--shard 3: write I/N, such as 3/64, I from 1"},
    {"h sweep plan.lua --store a.store --shard 0/2", 1, "--shard 0/2: write I/N"},
    {"h sweep plan.lua --store a.store --shard 3/2", 1, "--shard 3/2: write I/N"},
    {"h sweep plan.lua --store a.store --shard 1/x", 1, "--shard 1/x: write I/N"},
    {"h sweep plan.lua --store a.store --shard x/2", 1, "--shard x/2: write I/N"},
    {"h sweep plan.lua --store a.store --shard 1/9999999", 1, "--shard 1/9999999: write I/N"},
    {"h sweep plan.lua --store a.store --shard 99999999999999999999999/2", 1, "write I/N"},
    {"h sweep plan.lua --store a.store --workers 1 --csv", 0, "efficiency"},
    {"h sweep plan.lua --store a.store --workers 1 >/dev/full", 1, "could not be written"},
    {"h merge", 1, "heatledger merge"},
    {"h merge --store b.store", 1, "heatledger merge"},
    {"h merge --store b.store nowhere.store", 1, "nowhere.store"},
    /* swap and compare */
    {"h swap module.lua", 1, "name parts to try: --catalogue, --parts FILE, or both"},
    {"h swap module.lua --parts parts.yaml --slot buck.heater", 1, "no part stands at 'buck.heater'"},
    {"h swap module.lua --parts parts.yaml --by weather", 1, "weather"},
    {"h swap module.lua --parts parts.yaml --by weather 2>&1 | grep '^the adapter has'", 0,
     "no figure 'weather'; a part's figure is named as in"},
    {"h swap module.lua --parts parts.yaml --by hottest", 1, "did you mean part_hottest_c"},
    {"h solve module.lua --set out.volts=3", 1, "no setting 'out.volts'; did you mean 'out.voltage'?"},
    {"h swap module.lua --parts parts.yaml --at load", 1, "--at load: write NAME=VALUE,NAME=VALUE"},
    {"h swap module.lua --parts parts.yaml --top x", 1, "--top: 'x' is no whole number from 1 to 1000000"},
    {"h swap module.lua --parts parts.yaml --top 0", 1, "--top: '0' is no whole number"},
    {"h swap module.lua --parts parts.yaml --top 2x", 1, "--top: '2x' is no whole number"},
    {"h swap module.lua --parts parts.yaml --slot buck.inductor --at load=0.5 --set source.voltage='20 V' "
     "--set "
     "ambient.temperature='30 degC'",
     0, "inductor_b"},
    {"h swap module.lua --parts parts.yaml --slot buck.inductor --set load=0.5 --by loss_w --top 1", 0,
     "inductor_b"},
    {"h swap module.lua --parts parts.yaml --slot buck.inductor >/dev/full", 1, "could not be written"},
    {"h swap module.lua --parts parts.yaml --slot buck.inductor --by buck.output.needed_life", 0,
     "        15000 h "},
    {"h swap module.lua --parts parts.yaml --slot buck.inductor --by buck.output.life_h", 0,
     "ranked by buck.output.life_h"},
    {"h solve module.lua | grep -A1 'capacitor life'", 0, "  buck.output  "},
    {"h compare module.lua", 1, "heatledger compare"},
    {"h compare module.lua nowhere.lua", 1, "nowhere.lua"},
    {"h compare nowhere.lua module.lua", 1, "nowhere.lua"},
    {"h compare module.lua module.lua --set source.voltage='11 V' --set out.voltage='20 V'", 3,
     "no solution"},
    {"h compare module.lua module.lua", 0, "loss"},
    {"h compare module.lua module.lua --json >/dev/full", 1, "could not be written"},
    {"h compare module.lua module.lua --csv >/dev/full", 1, "could not be written"},
    /* models and parts */
    {"h models synchronous_bukc", 1, "no model 'synchronous_bukc'; did you mean 'synchronous_buck'?"},
    {"h models zzzzzzzzzzz", 1, "no model 'zzzzzzzzzzz'"},
    {"h models fuse resistor", 1, "heatledger models"},
    {"h models --plugins /nowhere", 1, "/nowhere"},
    {"mkdir empty; h models --plugins empty", 1, "empty: no plugin (*.so) is in this folder"},
    {"h models --plugins /nowhere.so", 1, "/nowhere.so"},
    {"h models fuse --json", 0, "\"fuse\""},
    {"h models >/dev/full", 1, "could not be written"},
    {"h models --json >/dev/full", 1, "could not be written"},
    {"h models --markdown /nowhere/pages", 1, "/nowhere/pages"},
    {"h models schottky_diode", 0, "to_220, to_220_insulated, to_247"},
    {"h models schottky_diode --json", 0, "\"to_220_insulated\""},
    {"h parts parts.yaml --family swich", 1, "no family 'swich'; did you mean 'switch'?"},
    {"h parts parts.yaml --family zzzzzzz", 1, "no family 'zzzzzzz'"},
    {"h parts nowhere.yaml", 1, "nowhere.yaml"},
    {"h parts module.lua", 1, "'module.lua' is no part file; the name of one ends in .yaml"},
    {"h parts parts.yaml swich_a", 1, "no part 'swich_a'; did you mean 'switch_a'?"},
    {"h parts parts.yaml zzzzzzz", 1, "no part 'zzzzzzz'"},
    {"h parts parts.yaml --plugins /nowhere", 1, "/nowhere"},
    {"h parts parts.yaml --json >/dev/full", 1, "could not be written"},
    {"h parts parts.yaml >/dev/full", 1, "could not be written"},
};
enum { CASES = sizeof cases / sizeof *cases };

static const char readings[] = "heatledger: bench/1\n"
                               "free:\n"
                               "  - { value: inductor_a.dc_resistance, low: 0.1 mohm, high: 100 mohm }\n"
                               "points:\n"
                               "  - name: full\n"
                               "    settings: { load: 1 }\n"
                               "    readings:\n"
                               "      - { of: input power, value: 49 W, uncertainty: 100 mW }\n"
                               "      - { of: output power, value: 48 W, uncertainty: 100 mW }\n"
                               "      - { of: buck.duty_ratio, value: 0.9, uncertainty: 0.001 }\n"
                               "      - { of: buck.inductor, value: 40 degC, uncertainty: 2 K }\n";

static const char plan[] =
    "local hl = require \"heatledger\"\n"
    "return hl.sweep { adapter = \"module.lua\", axes = { { \"load\", list = { 0.5, 1 } } },\n"
    "  figures = { \"efficiency\" } }\n";

static const char big[] = "local hl = require \"heatledger\"\n"
                          "local a = hl.adapter \"bench\"\n"
                          "a:supply { voltage = \"48 V\" }\n"
                          "a:stage \"s\" { model = \"housekeeping\", fed_by = \"source\", power = \"1 W\" }\n"
                          "a:box { size = \"88 x 60 x 31 cm\" }\n"
                          "a:board \"m\" { low = \"1 x 1 x 1 cm\", high = \"5 x 5 x 2.6 cm\" }\n"
                          "return a\n";

static const char sink[] =
    "local hl = require \"heatledger\"\n"
    "local a = hl.adapter \"bench\"\n"
    "a:supply { voltage = \"48 V\" }\n"
    "a:stage \"s\" { model = \"housekeeping\", fed_by = \"source\", power = \"1 W\" }\n"
    "a:box { size = \"88 x 60 x 31 mm\" }\n"
    "a:node \"sink\" { capacity = \"5 J/K\" }\n"
    "a:link { \"s\", \"sink\", resistance = \"4 K/W\" }\n"
    "a:link { \"sink\", \"inner air\", conductance = \"20 mW/K\" }\n"
    "a:spreader \"plate\" { low = \"10 x 10 x 5 mm\", high = \"40 x 40 x 6 mm\" }\n"
    "return a\n";

static void make_folder(void)
{
    scratch_folder_make();
    scratch_write("readings.yaml", readings);
    scratch_write("plan.lua", plan);
    scratch_write("big.lua", big);
    scratch_write("sink.lua", sink);
    char line[1024];
    snprintf(line, sizeof line, "cp %s/sweep/module.lua %s/sweep/parts.yaml %s", HL_TEST_SOURCE,
             HL_TEST_SOURCE, scratch_folder);
    ck_assert_int_eq(system(line), 0);
}

START_TEST(wrong_use_is_told)
{
    char line[1024];
    snprintf(line, sizeof line, "h() { %s/bin/heatledger \"$@\"; }; cd %s && %s", HL_TEST_BUILD,
             scratch_folder, cases[_i].line);
    command_output said = program_run("/bin/sh", (const char *const[]){"-c", line, NULL});
    ck_assert_msg(said.code == cases[_i].code, "%s: exit code %d\n%s%s", cases[_i].line, said.code, said.out,
                  said.error);
    ck_assert_msg(strstr(said.out, cases[_i].words) || strstr(said.error, cases[_i].words),
                  "%s: '%s' is not in\n%s%s", cases[_i].line, cases[_i].words, said.out, said.error);
    command_free(&said);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, make_folder, scratch_folder_remove);
    tcase_add_loop_test(tests, wrong_use_is_told, 0, CASES);
}

int main(void)
{
    return story_main("wrong use", fill);
}
