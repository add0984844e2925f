# Tolerance factors from their definitions in R 4.2.2: Rscript generate-tolerance.R > 13a-tolerance-factors.csv
# integral over sample mean of P(chi2 >= nu r^2(z)/k^2) = gamma, r solves Phi(z+r)-Phi(z-r)=p.
rz <- function(z,p) uniroot(function(r) pnorm(z+r)-pnorm(z-r)-p, c(0, abs(z)+10), tol=1e-15)$root
k2 <- function(n,p,g,nu=n-1) { f <- function(k) { gz <- function(z) sapply(z,function(zz) pchisq(nu*rz(zz,p)^2/k^2,nu,lower.tail=FALSE)*dnorm(zz,0,1/sqrt(n))); 2*integrate(gz,0,9/sqrt(n),rel.tol=1e-12,subdivisions=2000)$value - g }
  k0 <- qnorm((1+p)/2)*sqrt(nu*(1+1/n)/qchisq(1-g,nu)); uniroot(f,c(k0*0.7,k0*1.3),tol=1e-11)$root }
k1 <- function(n,p,g) qt(g,n-1,qnorm(p)*sqrt(n))/sqrt(n)
howe <- function(n,p,g,nu=n-1) qnorm((1+p)/2)*sqrt(nu*(1+1/n)/qchisq(1-g,nu))
ns <- c(2:30,35,40,43,45,50,60,70,80,90,100); R <- list()
for (p in c(.90,.95,.99)) for (g in c(.90,.95,.99)) for (n in ns) R[[length(R)+1]] <- data.frame(n=n,content=p,confidence=g,k_one_sided=suppressWarnings(k1(n,p,g)),k_two_sided=k2(n,p,g),howe_two_sided=howe(n,p,g))
R <- do.call(rbind, R)
writeLines("n,content,confidence,k_one_sided,k_two_sided,howe_two_sided")
writeLines(sprintf("%d,%.2f,%.2f,%.10f,%.10f,%.10f", R$n, R$content, R$confidence, R$k_one_sided, R$k_two_sided, R$howe_two_sided))
