/* check_package.c - the Debian package: made, unpacked into a folder, and its command run from there. */
#include <string.h>

#include "command_run.h"
#include "story.h"

#define ROOT HL_TEST_BUILD "/package"

static void run(const char *script, const char *expected)
{
    command_output output = program_run("/bin/sh", (const char *const[]){"-e", "-c", script, NULL});
    ck_assert_msg(output.code == 0, "exit %d of %.900s\n%.1200s\n%.1200s", output.code, script, output.out,
                  output.error);
    ck_assert_msg(!expected || strstr(output.out, expected), "'%s' is not in:\n%.2000s", expected,
                  output.out);
    command_free(&output);
}

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
enum { SANITIZED = 1 }; /* nobody installs that */
#else
enum { SANITIZED = 0 };
#endif

/* The build is whole when tests run: only the installing part of cpack is wanted, not a build beside the
 * tests. */
START_TEST(the_package_is_made_and_runs_unpacked)
{
    if (SANITIZED) return;
    run("rm -rf " ROOT " && mkdir -p " ROOT " && cd " ROOT "\n"
        "cmake --install " HL_TEST_BUILD " --prefix " ROOT "/staged/usr >log\n"
        "sed -e '/^set(CPACK_INSTALL_CMAKE_PROJECTS/d' -e "
        "'/^set(CPACK_PACKAGING_INSTALL_PREFIX/d' " HL_TEST_BUILD "/CPackConfig.cmake >config.cmake\n"
        "echo 'set(CPACK_PACKAGING_INSTALL_PREFIX /)' >>config.cmake\n"
        "echo 'set(CPACK_INSTALLED_DIRECTORIES \"" ROOT "/staged;/\")' >>config.cmake\n"
        "cpack --config config.cmake -G DEB -B . >log 2>&1 || { cat log; exit 1; }\n"
        "dpkg-deb -I heatledger_*.deb",
        "Package: heatledger");
    run("cd " ROOT " && dpkg-deb -f heatledger_*.deb Depends", "libsundials-cvode");
    run("cd " ROOT " && dpkg-deb -f heatledger_*.deb Depends", "liblua5.4-0");
    run("cd " ROOT " && dpkg-deb -f heatledger_*.deb Version", "0.1.0-1");
    run("cd " ROOT " && dpkg-deb -x heatledger_*.deb root && mkdir empty && cd empty\n"
        "../root/usr/bin/heatledger solve "
        "../root/usr/share/doc/heatledger/examples/small_adapter/adapter.lua",
        "efficiency");
    run("cd " ROOT "/root/usr/share && test -s man/man1/heatledger-solve.1* && "
        "test -s bash-completion/completions/heatledger && test -s zsh/vendor-completions/_heatledger && "
        "test -s doc/heatledger/copyright && "
        "gzip -t doc/heatledger/changelog.gz && echo whole",
        "whole");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_package_is_made_and_runs_unpacked);
}

int main(void)
{
    return story_main("package", fill);
}
