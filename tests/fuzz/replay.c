/* replay.c - feeds every file of the folders and files named to the target it is linked with.
 * Each input runs in a child process, so that the one that breaks it is named. */
#include <dirent.h>
#include <limits.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "target.h"

enum { SECONDS_EACH = 60, LARGEST = 1 << 22 };

static size_t fed, broken;

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
    int status = 0;
    MUST(waitpid(child, &status, 0) == child);
    fed++;
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0) return;
    broken++;
    fprintf(stderr, "%s: %s %d\n", path, WIFSIGNALED(status) ? "ended by signal" : "exit",
            WIFSIGNALED(status) ? WTERMSIG(status) : WEXITSTATUS(status));
}

static void feed_folder(const char *folder)
{
    struct dirent **entries;
    int n = scandir(folder, &entries, NULL, alphasort);
    MUST(n >= 0);
    for (int i = 0; i < n; i++) {
        char path[PATH_MAX];
        snprintf(path, sizeof path, "%s/%s", folder, entries[i]->d_name);
        struct stat s;
        if (stat(path, &s) == 0 && S_ISREG(s.st_mode)) feed(path);
        free(entries[i]);
    }
    free(entries);
}

int main(int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        struct stat s;
        MUST(stat(argv[i], &s) == 0);
        if (S_ISDIR(s.st_mode))
            feed_folder(argv[i]);
        else
            feed(argv[i]);
    }
    printf("%zu inputs, %zu broke it\n", fed, broken);
    return fed > 0 && broken == 0 ? 0 : 1; /* nothing fed proves nothing */
}
