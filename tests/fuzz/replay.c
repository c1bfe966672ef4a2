/* replay.c - feeds every file of the folders and files named to the target it is linked with; and then, for
 * HEATLEDGER_FUZZ_SECONDS, random changes of them (stir.h), the same for the same HL_TEST_SEED.  What is
 * named after "--" is only changed, not fed as it is. Inputs run in a child process, so that the one that
 * breaks the target is named, or kept as a file. */
#include <dirent.h>
#include <limits.h>
#include <stdbool.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "stir.h"
#include "target.h"

enum { SECONDS_EACH = 60, LARGEST = 1 << 22 };

static size_t fed, broken;
static bool only_seeds;
static stir_seeds seeds;

static uint8_t *slurp(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    MUST(file != NULL);
    uint8_t *all = malloc(LARGEST);
    MUST(all != NULL);
    *size = fread(all, 1, LARGEST, file);
    fclose(file);
    /* exactly as large as it is, so that the address sanitizer sees one byte too far */
    uint8_t *exact = malloc(*size ? *size : 1);
    MUST(exact != NULL);
    memcpy(exact, all, *size);
    free(all);
    return exact;
}

static bool ended_well(pid_t child, const char *what)
{
    int status = 0;
    MUST(waitpid(child, &status, 0) == child);
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0) return true;
    broken++;
    fprintf(stderr, "%s: %s %d\n", what, WIFSIGNALED(status) ? "ended by signal" : "exit",
            WIFSIGNALED(status) ? WTERMSIG(status) : WEXITSTATUS(status));
    return false;
}

static void feed(const char *path)
{
    fflush(NULL);
    pid_t child = fork();
    MUST(child >= 0);
    if (child == 0) {
        alarm(SECONDS_EACH); /* the default action ends the child */
        size_t size;
        uint8_t *data = slurp(path, &size);
        LLVMFuzzerTestOneInput(data, size);
        free(data);
        _exit(0);
    }
    fed++;
    ended_well(child, path);
}

/* The file among what is changed later on. */
static void keep(const char *path)
{
    if (seeds.n == STIR_SEEDS_MAX) return;
    seeds.data[seeds.n] = slurp(path, &seeds.size[seeds.n]);
    seeds.n++;
}

static void take(const char *path)
{
    if (!only_seeds) feed(path);
    keep(path);
}

static void take_folder(const char *folder)
{
    struct dirent **entries;
    int n = scandir(folder, &entries, NULL, alphasort);
    MUST(n >= 0);
    for (int i = 0; i < n; i++) {
        char path[PATH_MAX];
        snprintf(path, sizeof path, "%s/%s", folder, entries[i]->d_name);
        struct stat s;
        if (stat(path, &s) == 0 && S_ISREG(s.st_mode)) take(path);
        free(entries[i]);
    }
    free(entries);
}

/* --------------------------------------------------------------- stirring -- */

/* What a child works on, seen by its parent too. */
typedef struct shared_input {
    size_t tried, size;
    uint8_t data[STIR_LARGEST];
} shared_input;

static void feed_changes(shared_input *now, lottery luck, time_t end)
{
    while (time(NULL) < end) {
        now->size = stir(&seeds, &luck, now->data);
        uint8_t *exact = malloc(now->size ? now->size : 1);
        MUST(exact != NULL);
        memcpy(exact, now->data, now->size);
        alarm(SECONDS_EACH);
        LLVMFuzzerTestOneInput(exact, now->size);
        free(exact);
        now->tried++;
    }
    _exit(0);
}

static void stir_for(int seconds)
{
    FILE *memory = tmpfile();
    MUST(memory && ftruncate(fileno(memory), sizeof(shared_input)) == 0);
    shared_input *now = mmap(NULL, sizeof *now, PROT_READ | PROT_WRITE, MAP_SHARED, fileno(memory), 0);
    MUST(now != MAP_FAILED && seeds.n > 0);
    lottery luck = lottery_open("stirred inputs");
    fflush(NULL);
    pid_t child = fork();
    MUST(child >= 0);
    if (child == 0) feed_changes(now, luck, time(NULL) + seconds);
    if (!ended_well(child, "a stirred input")) {
        char path[] = "broken_input_XXXXXX";
        int handle = mkstemp(path);
        FILE *file = handle < 0 ? NULL : fdopen(handle, "wb");
        MUST(file && fwrite(now->data, 1, now->size, file) == now->size && fclose(file) == 0);
        fprintf(stderr, "it is kept as %s; once mended it belongs into the corpus\n", path);
    }
    printf("%zu changed inputs\n", now->tried);
    munmap(now, sizeof *now);
    fclose(memory);
}

int main(int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        struct stat s;
        if (!strcmp(argv[i], "--")) {
            only_seeds = true;
            continue;
        }
        MUST(stat(argv[i], &s) == 0);
        if (S_ISDIR(s.st_mode))
            take_folder(argv[i]);
        else
            take(argv[i]);
    }
    const char *seconds = getenv("HEATLEDGER_FUZZ_SECONDS");
    if (seconds && broken == 0) stir_for(atoi(seconds));
    printf("%zu inputs, %zu broke it\n", fed, broken);
    return fed > 0 && broken == 0 ? 0 : 1; /* nothing fed proves nothing */
}
